/**
 * Reads the sources of a layout file: tanks framed, round, dipped or soft, open water, hydrants and house taps.
 *
 * In: the section of one source. Out: the source in SI, with every fault noted on the way. A soft tank is known by its
 * volume only and is taken as a box; a hydrant or tap is open water with a main behind it.
 */
import { labelOr } from './layout-names.ts';
import { requireSteps } from './layout-kits.ts';
import { DAY_S, NOT_NEGATIVE, POSITIVE, type Section } from './layout-section.ts';
import type { Mains, Source, SourceShape } from './layout.ts';

/** Judgement: a tender that stands by; a site that is far from one says so. */
const WATER_REFILL_S = 600;

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

const SOURCE_KINDS = [
  'framed-tank',
  'frustum-tank',
  'dipped-tank',
  'bladder',
  'open-water',
  'hydrant',
  'house-tap',
] as const;

/** What any kind may ask for: not reported as unknown where the kind itself is faulty. */
const SHAPE_FIELDS = [
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
];

function readShape(section: Section): Water {
  const length = (name: string): number => section.quantity(name, 'length', '0.75 m', POSITIVE);
  const still = (shape: SourceShape): Water => ({ shape, mains: null });
  const kind = section.choice('kind', SOURCE_KINDS);
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
    case 'dipped-tank':
      return still(readDipTable(section));
    case 'bladder':
      return still(readBladder(section));
    case 'open-water':
      refuseRefill(section);
      return still({ kind });
    case 'hydrant':
    case 'house-tap':
      refuseRefill(section);
      return { shape: { kind: 'open-water' }, mains: readMains(section) };
    case null:
      section.skip(SHAPE_FIELDS);
      return still({ kind: 'open-water' });
  }
}

function readDipTable(section: Section): SourceShape {
  const rows = section.rows('table', ['length', 'volume'], '[[0 cm, 0 L], [10 cm, 900 L]]', 2);
  const depthsM = rows.map((row) => row[0] ?? Number.NaN);
  const volumesM3 = rows.map((row) => row[1] ?? Number.NaN);
  requireSteps(section, 'table', 'depth', depthsM, 'rising');
  requireSteps(section, 'table', 'volume', volumesM3, 'rising');
  return { kind: 'dipped-tank', depthsM, volumesM3 };
}

/** Known by its volume only: a box of its working depth. Half a metre either way is 5 kPa at the pump's eye. */
function readBladder(section: Section): SourceShape {
  const depthM = section.quantityOr('depth', 1, 'length', '1 m', POSITIVE);
  const volumeM3 = section.quantity('volume', 'volume', '5000 L', POSITIVE);
  return { kind: 'framed-tank', lengthM: volumeM3 / depthM, widthM: 1, depthM };
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
