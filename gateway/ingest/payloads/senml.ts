/**
 * Reads a SenML pack (RFC 8428, JSON or CBOR) and resolves its base fields: what was measured, in which unit, when.
 *
 * In: the bytes of one packet. Out: resolved records, and what was refused. A fault that spoils what follows it (base
 * fields, version, a member that must be understood) refuses the whole pack; a fault of one record refuses that record,
 * so that a device with one bad sensor keeps its good ones.
 * Stricter than the RFC in one point: a missing v is never filled in by the base value, because no path may turn
 * 'missing' into a number.
 */
import { refusal, type Refusal } from '../refusal.ts';
import { isCbor, openCbor } from './senml-cbor.ts';

export interface SenmlRecord {
  readonly name: string;
  readonly unit: string | null;
  /** Texts and flags are legal SenML; whether the channel can use them is not decided here. */
  readonly value: number | string | boolean;
  readonly time: SenmlTime;
  /** The sender says that it is at the end of its range: the truth may lie beyond. */
  readonly saturated?: boolean;
  /** The sender says that it is of the past: filed, never live. */
  readonly historical?: boolean;
}

export type SenmlTime =
  | { readonly kind: 'none' }
  /** Counted from 'roughly now' at the sender. */
  | { readonly kind: 'relative'; readonly offsetMs: number }
  | { readonly kind: 'absolute'; readonly atMs: number };

export interface SenmlPack {
  readonly records: readonly SenmlRecord[];
  readonly refused: readonly Refusal[];
  /** A record carried `"simulated": true`: an extra member, which others ignore (section 4.4). */
  readonly simulated: boolean;
}

/** Judgement: a sensor box sends a few hundred bytes; this leaves room for a backlog of as many records as are read. */
export const PACKET_BYTES_MAX = 262_144;
export const RECORDS_MAX = 2_000;
const VERSION = 10;
/** RFC 8428 section 4.5.3: smaller values count from now, larger ones from 1970. */
const ABSOLUTE_FROM_S = 2 ** 28;

const KNOWN = new Set(['bn', 'bt', 'bu', 'bv', 'bs', 'bver', 'n', 'u', 'v', 'vs', 'vb', 'vd', 's', 't', 'ut']);
const UTF8 = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });
const VALUES = ['v', 'vs', 'vb', 'vd'] as const;

interface Base {
  name: string;
  unit: string | null;
  timeS: number;
  value: number;
}

type Members = ReadonlyMap<string, unknown>;

export function readSenml(bytes: Uint8Array): SenmlPack {
  const items = open(bytes);
  if ('reason' in items) return spoilt(items);
  const base: Base = { name: '', unit: null, timeS: 0, value: 0 };
  const records: SenmlRecord[] = [];
  const refused: Refusal[] = [];
  let simulated = false;
  for (const item of items) {
    const members = membersOf(item);
    if ('reason' in members) return spoilt(members);
    const fault = readBase(members, base);
    if (fault) return spoilt(fault);
    simulated ||= members.get('simulated') === true;
    if (isBaseOnly(members)) continue;
    const record = readRecord(members, base);
    if ('reason' in record) refused.push(record);
    else records.push(record);
  }
  return { records, refused, simulated };
}

function spoilt(refused: Refusal): SenmlPack {
  return { records: [], refused: [refused], simulated: false };
}

function open(bytes: Uint8Array): readonly unknown[] | Refusal {
  if (bytes.byteLength > PACKET_BYTES_MAX)
    return refusal('ingest/too-large', `${bytes.byteLength} bytes, at most ${PACKET_BYTES_MAX} are read`);
  const items = isCbor(bytes) ? openCbor(bytes) : openJson(bytes);
  if ('reason' in items) return items;
  if (items.length === 0) return refusal('ingest/not-a-pack', 'an empty array');
  return items.length > RECORDS_MAX
    ? refusal('ingest/too-many-records', `${items.length} records, at most ${RECORDS_MAX} are read`)
    : items;
}

function openJson(bytes: Uint8Array): readonly unknown[] | Refusal {
  let text: string;
  try {
    text = UTF8.decode(bytes);
  } catch {
    return refusal('ingest/not-utf8', 'bytes that are no UTF-8');
  }
  let items: unknown;
  try {
    items = JSON.parse(text);
  } catch (error) {
    return refusal('ingest/not-json', error instanceof Error ? error.message : 'no JSON');
  }
  return Array.isArray(items) ? (items as unknown[]) : refusal('ingest/not-a-pack', text.slice(0, 60));
}

/** A Map, so that a member called __proto__ or constructor is only a name. */
function membersOf(item: unknown): Members | Refusal {
  if (typeof item !== 'object' || item === null || Array.isArray(item))
    return refusal('ingest/bad-record', `a record is ${shown(item)}`);
  const members: Members = item instanceof Map ? (item as Members) : new Map<string, unknown>(Object.entries(item));
  for (const name of members.keys()) {
    if (!KNOWN.has(name) && name.endsWith('_')) return refusal('ingest/must-understand', `member '${name}'`);
  }
  return members;
}

function readBase(members: Members, base: Base): Refusal | null {
  const version = members.get('bver') ?? VERSION;
  if (typeof version !== 'number' || !Number.isInteger(version) || version < 1 || version > VERSION)
    return refusal('ingest/unknown-version', `bver is ${shown(version)}`);
  for (const name of ['bn', 'bu']) {
    if (members.has(name) && typeof members.get(name) !== 'string')
      return refusal('ingest/bad-base', `${name} is ${shown(members.get(name))}`);
  }
  for (const name of ['bt', 'bv', 'bs']) {
    if (members.has(name) && !isNumber(members.get(name)))
      return refusal('ingest/bad-base', `${name} is ${shown(members.get(name))}`);
  }
  if (members.has('bn')) base.name = members.get('bn') as string;
  if (members.has('bu')) base.unit = members.get('bu') as string;
  if (members.has('bt')) base.timeS = members.get('bt') as number;
  if (members.has('bv')) base.value = members.get('bv') as number;
  return null;
}

/** A record may do no more than set the base for those after it (the actuator example of section 5.1.7). */
function isBaseOnly(members: Members): boolean {
  return members.size > 0 && [...members.keys()].every((name) => name.startsWith('b') && KNOWN.has(name));
}

function readRecord(members: Members, base: Base): SenmlRecord | Refusal {
  const ownName = members.get('n') ?? '';
  if (typeof ownName !== 'string') return refusal('ingest/bad-name', `n is ${shown(ownName)}`);
  const name = base.name + ownName;
  if (!/^[A-Za-z0-9][A-Za-z0-9\-:./_]*$/.test(name)) return refusal('ingest/bad-name', `'${name}'`);
  const unit = members.get('u') ?? base.unit;
  if (unit !== null && typeof unit !== 'string') return refusal('ingest/bad-unit', `${name}: u is ${shown(unit)}`);
  for (const label of ['t', 'ut', 's']) {
    if (members.has(label) && !isNumber(members.get(label)))
      return refusal('ingest/bad-time', `${name}: ${label} is ${shown(members.get(label))}`);
  }
  const value = readValue(members, base, name);
  if (typeof value === 'object') return value;
  const ownTimeS = (members.get('t') as number | undefined) ?? 0;
  const timeS = base.timeS + ownTimeS;
  if (!Number.isFinite(timeS)) return refusal('ingest/bad-time', `${name}: t is too large`);
  return { name, unit: unit === '' ? null : unit, value, time: timeOf(timeS) };
}

function readValue(members: Members, base: Base, name: string): number | string | boolean | Refusal {
  const present = VALUES.filter((label) => members.has(label));
  const [label] = present;
  if (label === undefined) return refusal('ingest/no-value', name);
  if (present.length > 1) return refusal('ingest/several-values', `${name}: ${present.join(' and ')}`);
  const value = members.get(label);
  if (label === 'v') {
    const sum = isNumber(value) ? base.value + value : Number.NaN;
    return Number.isFinite(sum) ? sum : refusal('ingest/not-a-number', `${name}: v is ${shown(value)}`);
  }
  const wanted = label === 'vb' ? 'boolean' : 'string';
  if (typeof value !== wanted) return refusal('ingest/no-value', `${name}: ${label} is ${shown(value)}`);
  return value as string | boolean;
}

function timeOf(timeS: number): SenmlTime {
  if (timeS === 0) return { kind: 'none' };
  return timeS < ABSOLUTE_FROM_S
    ? { kind: 'relative', offsetMs: timeS * 1_000 }
    : { kind: 'absolute', atMs: Math.round(timeS * 1_000) };
}

function isNumber(value: unknown): value is number {
  return typeof value === 'number' && Number.isFinite(value);
}

function shown(value: unknown): string {
  if (typeof value === 'string') return `the text "${value.slice(0, 40)}"`;
  if (typeof value === 'object' && value !== null) return Array.isArray(value) ? 'a list' : 'an object';
  return String(value);
}
