/**
 * Reads the parts of a layout file that water runs through or onto: pumps, places, hoses, gates, lines, heads,
 * structures.
 *
 * In: the top of the file as a section. Out: the parts in SI, in the order of the file, with every fault noted on the
 * way. Names that point to other parts are taken as they stand here; layout-checks.ts follows them.
 */
import { gateKit, headKit, hoseKit, pumpKit } from './layout-kits.ts';
import { isName, labelOr, NAME_REMEDY, referenceOrNull } from './layout-names.ts';
import { DAY_S, NOT_NEGATIVE, POSITIVE, Section } from './layout-section.ts';
import { MOUNTS, ZONES } from './layout.ts';
import type { Gate, Head, Hose, Line, Place, Pump, Structure } from './layout.ts';

/** The items of one map keyed by id, such as `hoses:`. */
export function readEach<Part>(
  top: Section,
  collection: string,
  needed: boolean,
  read: (id: string, section: Section) => Part,
): Part[] {
  if (!needed && !top.has(collection)) return [];
  const all = top.section(collection, '(its items, each under a name of its own)');
  return all.names().map((id) => {
    if (!isName(id)) all.fault('layout/bad-name', id, `'${id}' cannot be a name`, NAME_REMEDY);
    const section = new Section(all.file, all.node(id), all.path(id));
    const part = read(id, section);
    section.close();
    return part;
  });
}

/** Judgement: a can of fuel that stands by; a site that is far from one says so. */
const FUEL_REFILL_S = 900;

export function readPump(id: string, section: Section): Pump {
  const suction = section.section('suction', '{ hose: suction-65, length: 3 m, losses: 4 }');
  const kit = pumpKit(section, 'kit');
  const pump: Pump = {
    id,
    label: labelOr(section, id),
    kit,
    source: section.reference('source', 'tank'),
    inlet: referenceOrNull(section, 'inlet'),
    speed: section.quantityOr('speed', 1, 'ratio', '95 %', { above: 0, max: 1.2 }),
    holdsPa: readHolds(section, kit.control),
    relief: readRelief(section),
    outlet: section.reference('outlet', 'p0'),
    elevationM: section.quantity('height', 'length', '0.5 m'),
    suctionHose: hoseKit(suction, 'hose'),
    suctionLengthM: suction.quantity('length', 'length', '3 m', POSITIVE),
    suctionLossFactor: suction.number('losses', '4', NOT_NEGATIVE),
    checkValve: section.flag('check-valve', true),
    fuelCapacityM3: section.quantity('fuel', 'volume', '20 L', POSITIVE),
    refillS: section.quantityOr('refill', FUEL_REFILL_S, 'time', '15 min', { above: 0, max: DAY_S }),
  };
  suction.close();
  return pump;
}

function readHolds(section: Section, control: Pump['kit']['control']): number | null {
  if (!section.has('holds')) return null;
  if (control !== 'governor')
    section.fault(
      'layout/bad-value',
      'holds',
      'this pump has no governor to hold a pressure',
      "remove 'holds', or give its kit 'control: governor'",
    );
  return section.quantity('holds', 'pressure', '900 kPa', POSITIVE);
}

function readRelief(section: Section): Pump['relief'] {
  if (!section.has('relief')) return null;
  const relief = section.section('relief', '{ opens: 1200 kPa, bore: 25 mm }');
  const valve = {
    opensPa: relief.quantity('opens', 'pressure', '1200 kPa', POSITIVE),
    boreM: relief.quantity('bore', 'length', '25 mm', POSITIVE),
  };
  relief.close();
  return valve;
}

export function readPlace(id: string, section: Section): Place {
  const [xM, yM] = section.pair('position', 'length', '[12 m, 30 m]');
  return { id, label: labelOr(section, id), xM, yM, elevationM: section.quantity('height', 'length', '0 m') };
}

export function readHose(id: string, section: Section): Hose {
  return {
    id,
    label: labelOr(section, id),
    kit: hoseKit(section, 'kit'),
    from: section.reference('from', 'p0'),
    to: section.reference('to', 'p1'),
    lengthM: section.quantity('length', 'length', '30 m', POSITIVE),
    fittingLossFactor: section.has('losses') ? section.number('losses', '0.5', NOT_NEGATIVE) : 0,
    checkValve: section.flag('check-valve', false),
    line: referenceOrNull(section, 'line'),
  };
}

export function readGate(id: string, section: Section): Gate {
  const kit = gateKit(section, 'kit');
  return {
    id,
    label: labelOr(section, id),
    from: section.reference('from', 'p1'),
    to: section.reference('to', 'a0'),
    boreM: kit.boreM,
    openLossFactor: kit.openLossFactor,
    opening: section.quantityOr('opening', 1, 'ratio', '100 %', { min: 0, max: 1 }),
    line: referenceOrNull(section, 'line'),
  };
}

export function readLine(id: string, section: Section): Line {
  return { id, label: section.text('label', 'line A, north cabins') ?? '' };
}

export function readStructure(id: string, section: Section): Structure {
  const outline = section.rows(
    'outline',
    ['length', 'length'],
    '[[0 m, 0 m], [12 m, 0 m], [12 m, 8 m], [0 m, 8 m]]',
    3,
  );
  return {
    id,
    label: section.text('label', 'boat house') ?? '',
    outlineM: outline.map((corner) => [corner[0] ?? Number.NaN, corner[1] ?? Number.NaN] as const),
    priority: section.has('priority') ? section.number('priority', '1', { min: 1, max: 9 }) : 5,
  };
}

export function readHead(id: string, section: Section, heightOfPlace: ReadonlyMap<string, number>): Head {
  const feeder = section.section('feeder', '{ hose: feeder-16, length: 10 m }');
  const at = section.reference('at', 'a1');
  const [xM, yM] = section.pair('position', 'length', '[12 m, 30 m]');
  const head: Head = {
    id,
    label: section.text('label', 'NE gable') ?? '',
    kit: headKit(section, 'kit'),
    at,
    feeder: hoseKit(feeder, 'hose'),
    feederLengthM: feeder.quantity('length', 'length', '10 m', POSITIVE),
    elevationM: (heightOfPlace.get(at) ?? Number.NaN) + section.quantity('rise', 'length', '3 m'),
    xM,
    yM,
    line: section.reference('line', 'line-a'),
    structure: section.reference('structure', 'cabin-1'),
    mount: section.choice('mount', MOUNTS) ?? 'ground-spike',
    zone: section.choice('zone', ZONES) ?? 'ground',
    arcDeg: section.quantityOr('arc', 360, 'angle', '180 deg', { above: 0, max: 360 }),
    facingDeg: section.quantityOr('facing', 0, 'angle', '90 deg', { min: 0, max: 360 }),
  };
  feeder.close();
  return head;
}
