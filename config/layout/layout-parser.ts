/**
 * Makes a Layout from the text of a site file, or says everything that is wrong with it.
 *
 * In: YAML text, and the file's name (its base name is the site's name in topics). Out: a complete, cross-checked,
 * frozen Layout in SI, or all faults with line, field and what would be right. Never throws, whatever the text. Limit:
 * an error of YAML's own syntax is reported alone, see layout-yaml.ts.
 */
import { checkLayout } from './layout-checks.ts';
import { FaultBook, type LayoutFault } from './layout-fault.ts';
import { isName } from './layout-names.ts';
import {
  readEach,
  readGate,
  readHead,
  readHose,
  readLine,
  readPlace,
  readPump,
  readStructure,
} from './layout-parts.ts';
import { Section } from './layout-section.ts';
import { readSensor } from './layout-sensors.ts';
import { readSource } from './layout-sources.ts';
import { UNIT_SYSTEMS } from './layout.ts';
import type { Layout } from './layout.ts';
import { readMapping } from '../mapping/mapping-parts.ts';
import { openYaml } from './layout-yaml.ts';

export type ParsedLayout =
  { readonly ok: true; readonly layout: Layout } | { readonly ok: false; readonly faults: readonly LayoutFault[] };

/** Judgement: ten times a large site; keeps a wrong file from holding up the start. */
const MAX_CHARACTERS = 500_000;

export function parseLayout(text: string, fileName: string): ParsedLayout {
  const book = new FaultBook(fileName);
  const layout = readLayout(text, fileName, book);
  const faults = book.faults();
  return layout === null || faults.length > 0 ? { ok: false, faults } : { ok: true, layout: freeze(layout) };
}

function readLayout(text: string, fileName: string, book: FaultBook): Layout | null {
  const site = siteName(fileName, book);
  if (text.trim() === '') {
    book.add('layout/empty', '', 'the file is empty', 'copy a file from config/sites and change it');
    return null;
  }
  if (text.length > MAX_CHARACTERS) {
    book.add(
      'layout/too-large',
      '',
      `the file has ${text.length} characters`,
      `a layout has at most ${MAX_CHARACTERS}: is this the right file?`,
    );
    return null;
  }
  const yaml = openYaml(text, book);
  if (yaml === null) return null;
  if (yaml.top === null) {
    book.add('layout/empty', '', 'the file holds nothing but comments', 'copy a file from config/sites and change it');
    return null;
  }
  const top = new Section(yaml.file, yaml.top, '');
  const layout = readTop(top, site, text);
  if (top.readable) checkLayout(layout, book);
  return layout;
}

function siteName(fileName: string, book: FaultBook): string {
  const base = fileName.slice(Math.max(fileName.lastIndexOf('/'), fileName.lastIndexOf('\\')) + 1);
  const site = base.replace(/\.ya?ml$/i, '');
  if (!isName(site)) {
    book.add(
      'layout/bad-file-name',
      '',
      `'${base}' cannot name a site`,
      'name the file like larch-cove.yaml: small letters, digits and hyphens; it becomes part of topics',
    );
  }
  return site;
}

function readTop(top: Section, site: string, text: string): Layout {
  const places = readEach(top, 'places', true, readPlace);
  const heightOfPlace = new Map(places.map((place) => [place.id, place.elevationM]));
  const layout: Layout = {
    site,
    name: top.text('name', 'Larch Cove') ?? '',
    revision: top.number('revision', '1', { min: 0 }),
    fingerprint: fingerprint(text),
    units: top.choice('units', UNIT_SYSTEMS) ?? 'metric',
    timeZone: readTimeZone(top),
    altitudeM: top.quantity('altitude', 'length', '640 m'),
    places,
    sources: readEach(top, 'sources', true, readSource),
    pumps: readEach(top, 'pumps', true, readPump),
    hoses: readEach(top, 'hoses', true, readHose),
    gates: readEach(top, 'gates', false, readGate),
    lines: readEach(top, 'lines', true, readLine),
    structures: readEach(top, 'structures', true, readStructure),
    heads: readEach(top, 'heads', true, (id, section) => readHead(id, section, heightOfPlace)),
    sensors: readEach(top, 'sensors', false, readSensor),
    mappings: readEach(top, 'mappings', false, readMapping),
  };
  top.close();
  return layout;
}

function readTimeZone(top: Section): string {
  const zone = top.text('time-zone', 'America/Vancouver');
  if (zone === null) return '';
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
    return zone;
  } catch {
    top.fault(
      'layout/bad-value',
      'time-zone',
      `'${zone}' is not a time zone`,
      "write a name such as 'America/Vancouver', 'Europe/Athens' or 'UTC'",
    );
    return '';
  }
}

const FNV_OFFSET = 0xcbf29ce484222325n;
const FNV_PRIME = 0x100000001b3n;

/** FNV-1a, 64 bit, over the UTF-8 text: tells revisions apart; it is no protection against a forger. */
export function fingerprint(text: string): string {
  let hash = FNV_OFFSET;
  for (const byte of new TextEncoder().encode(text)) hash = ((hash ^ BigInt(byte)) * FNV_PRIME) & 0xffffffffffffffffn;
  return hash.toString(16).padStart(16, '0');
}

function freeze<Value>(value: Value): Value {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const part of Object.values(value)) freeze(part);
  }
  return value;
}
