/**
 * Reads the parts of a layout file: sources, pumps, places, hoses, gates, lines, heads, structures, sensors.
 *
 * In: the top of the file as a section. Out: the parts in SI, in the order of the file, with every fault noted on the
 * way. Names that point to other parts are taken as they stand here; layout-checks.ts follows them.
 */
import type {
  Gate,
  Head,
  Hose,
  Line,
  Mains,
  Mounting,
  Place,
  Pump,
  Quantity,
  Sensor,
  Source,
  SourceShape,
  Structure,
} from './layout.ts';
import { gateKit, headKit, hoseKit, pumpKit, requireSteps } from './layout-kits.ts';
import { NOT_NEGATIVE, POSITIVE, Section } from './layout-section.ts';
import type { Dimension } from '../units.ts';

const NAME = /^[a-z0-9][a-z0-9-]*$/;
const NAME_REMEDY = 'use small letters a-z, digits and hyphens: it becomes part of topics and file names';

export function isName(text: string): boolean {
  return NAME.test(text);
}

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

function labelOr(section: Section, otherwise: string): string {
  return section.has('label') ? (section.text('label', 'upper trunk') ?? otherwise) : otherwise;
}

function referenceOrNull(section: Section, name: string): string | null {
  return section.has(name) ? section.reference(name, 'line-a') : null;
}

/** Judgement: a tender that stands by, and a can that stands by; a site that is far from both says so. */
const WATER_REFILL_S = 600;
const FUEL_REFILL_S = 900;
const DAY_S = 86_400;

export function readSource(id: string, section: Section): Source {
  const [xM, yM] = section.pair('position', 'length', '[12 m, 30 m]');
  return {
    id,
    label: labelOr(section, id),
    xM,
    yM,
    elevationM: section.quantity('height', 'length', '0 m'),
    ...readShape(section),
    // Judgement: about 90 % of a portable tank can be drawn before the suction takes air; fire service working figure.
    usable: section.quantityOr('usable', 0.9, 'ratio', '90 %', { above: 0, max: 1 }),
    refillS: section.quantityOr('refill', WATER_REFILL_S, 'time', '10 min', { above: 0, max: DAY_S }),
  };
}

type Water = Pick<Source, 'shape' | 'mains'>;

function readShape(section: Section): Water {
  const length = (name: string): number => section.quantity(name, 'length', '0.75 m', POSITIVE);
  const still = (shape: SourceShape): Water => ({ shape, mains: null });
  const kind = section.choice('kind', [
    'framed-tank',
    'frustum-tank',
    'dipped-tank',
    'bladder',
    'open-water',
    'hydrant',
    'house-tap',
  ]);
  switch (kind) {
    case 'framed-tank':
      return still({ kind, lengthM: length('length'), widthM: length('width'), depthM: length('depth') });
    case 'frustum-tank':
      return still({
        kind,
        baseRadiusM: length('base-diameter') / 2,
        topRadiusM: length('top-diameter') / 2,
        depthM: length('depth'),
      });
    case 'dipped-tank': {
      const rows = section.rows('table', ['length', 'volume'], '[[0 cm, 0 L], [10 cm, 900 L]]', 2);
      const depthsM = rows.map((row) => row[0] ?? Number.NaN);
      const volumesM3 = rows.map((row) => row[1] ?? Number.NaN);
      requireSteps(section, 'table', 'depth', depthsM, 'rising');
      requireSteps(section, 'table', 'volume', volumesM3, 'rising');
      return still({ kind, depthsM, volumesM3 });
    }
    case 'bladder': {
      // Known by its volume only: a box of its working depth. Half a metre either way is 5 kPa at the pump's eye.
      const depthM = section.quantityOr('depth', 1, 'length', '1 m', POSITIVE);
      return still({
        kind: 'framed-tank',
        lengthM: section.quantity('volume', 'volume', '5000 L', POSITIVE) / depthM,
        widthM: 1,
        depthM,
      });
    }
    case 'open-water':
      refuseRefill(section);
      return still({ kind });
    case 'hydrant':
    case 'house-tap':
      refuseRefill(section);
      return { shape: { kind: 'open-water' }, mains: readMains(section) };
    case null:
      section.skip([
        'length',
        'width',
        'depth',
        'base-diameter',
        'top-diameter',
        'table',
        'volume',
        'static',
        'residual',
        'residual-flow',
      ]);
      return still({ kind: 'open-water' });
  }
}

function refuseRefill(section: Section): void {
  if (section.has('refill'))
    section.fault('layout/bad-value', 'refill', 'water that no tank holds is not refilled', "remove 'refill'");
}

function readMains(section: Section): Mains {
  const staticPa = section.quantity('static', 'pressure', '450 kPa', POSITIVE);
  const residualPa = section.quantity('residual', 'pressure', '300 kPa', NOT_NEGATIVE);
  const residualFlowM3s = section.quantity('residual-flow', 'flow', '900 L/min', POSITIVE);
  if (residualPa >= staticPa) {
    section.fault(
      'layout/not-falling',
      'residual',
      "'residual' is not below 'static'",
      "write the pressure that was left while 'residual-flow' ran",
    );
  }
  return { staticPa, residualPa, residualFlowM3s };
}

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
    mount:
      section.choice('mount', ['ground-spike', 'gable-bracket', 'post', 'gutter', 'ridge', 'deck']) ?? 'ground-spike',
    zone: section.choice('zone', ['roof', 'eave', 'ground']) ?? 'ground',
    arcDeg: section.quantityOr('arc', 360, 'angle', '180 deg', { above: 0, max: 360 }),
    facingDeg: section.quantityOr('facing', 0, 'angle', '90 deg', { min: 0, max: 360 }),
  };
  feeder.close();
  return head;
}

const DIMENSION_OF: Readonly<Record<Quantity, Dimension>> = {
  pressure: 'pressure',
  flow: 'flow',
  rotation: 'rotation',
  level: 'length',
  fuel: 'volume',
  temperature: 'temperature',
  pulse: 'pressure',
  motion: 'acceleration',
};

const QUANTITIES = Object.keys(DIMENSION_OF) as Quantity[];

const EXAMPLE_OF: Readonly<Record<Quantity, string>> = {
  pressure: '3 kPa',
  flow: '3 L/min',
  rotation: '20 rpm',
  level: '5 mm',
  fuel: '0.1 L',
  temperature: '0.3 C',
  pulse: '0.2 kPa',
  motion: '0.05 m/s2',
};

export function readSensor(id: string, section: Section): Sensor {
  const quantity = section.choice('quantity', QUANTITIES);
  if (quantity === null) section.skip(['range', 'noise', 'offset']);
  const spread = quantity === null ? NO_SPREAD : readSpread(section, quantity);
  return {
    id,
    label: labelOr(section, id),
    quantity: quantity ?? 'pressure',
    mounting: readMounting(section),
    line: referenceOrNull(section, 'line'),
    device: nameOf(section, 'device', 'pump-box'),
    record: nameOf(section, 'record', 'pressure'),
    ...spread,
    intervalS: section.quantity('every', 'time', '1 s', POSITIVE),
  };
}

function nameOf(section: Section, name: string, example: string): string {
  const text = section.text(name, example);
  if (text !== null && !isName(text)) section.fault('layout/bad-name', name, `'${text}' cannot be a name`, NAME_REMEDY);
  return text ?? '';
}

type Spread = Pick<Sensor, 'min' | 'max' | 'noiseSd' | 'offsetSd'>;

const NO_SPREAD: Spread = { min: Number.NaN, max: Number.NaN, noiseSd: Number.NaN, offsetSd: Number.NaN };

function readSpread(section: Section, quantity: Quantity): Spread {
  const example = EXAMPLE_OF[quantity];
  const [min, max] = section.pair('range', DIMENSION_OF[quantity], `[0 ${example.split(' ')[1] ?? ''}, ${example}]`);
  if (min >= max) section.fault('layout/not-rising', 'range', 'the range does not rise', 'write the lower end first');
  const sd = (name: string): number => {
    const text = section.text(name, example);
    if (text === null) return Number.NaN;
    // Data sheets give a share of the measuring range.
    if (text.endsWith('%')) return section.measure(name, text, 'ratio', '0.3 %', NOT_NEGATIVE) * (max - min);
    const dimension = quantity === 'temperature' ? 'temperature difference' : DIMENSION_OF[quantity];
    return section.measure(name, text, dimension, example, NOT_NEGATIVE);
  };
  return { min, max, noiseSd: sd('noise'), offsetSd: sd('offset') };
}

const MOUNTINGS = ['place', 'suction', 'discharge', 'pump', 'source'] as const;

function readMounting(section: Section): Mounting {
  if (section.has('on') && section.isPlain('on')) {
    section.choice('on', ['air']);
    return { kind: 'air' };
  }
  const on = section.section('on', '{ place: a3 }');
  const given = MOUNTINGS.filter((kind) => on.has(kind));
  const [kind] = given;
  const id = kind === undefined ? '' : on.reference(kind, 'a3');
  if (on.readable && given.length !== 1) {
    on.fault(
      'layout/sensor-misplaced',
      '',
      'a sensor sits in one spot',
      `write one of ${MOUNTINGS.map((word) => `{ ${word}: ... }`).join(', ')} or 'air'`,
    );
  }
  on.close();
  switch (kind) {
    case 'place':
      return { kind, place: id };
    case 'source':
      return { kind, source: id };
    case 'suction':
    case 'discharge':
    case 'pump':
      return { kind, pump: id };
    default:
      return { kind: 'air' };
  }
}
