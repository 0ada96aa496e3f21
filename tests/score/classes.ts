/**
 * The classes of trouble that the scorecard has a row for: what is done to the plant, what would be the right answer,
 * how long it may take, and the aim.
 *
 * In: layout, plant (for pressures, so that a leak is a share of the flow), dice. Out: a deed and its right answer.
 * `causes` are the right names; `kin` are those that move the readings the same way and need another look to tell
 * apart.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Deed } from '../../simulator/events.ts';
import type { SeededRandom } from '../../simulator/seeded-random.ts';
import type { Plant } from '../../simulator/plant.ts';
import { depthOf, sourceVolume } from '../../simulator/vessel.ts';

export interface Answer {
  /** Right names of the cause, as the gateway writes them. */
  readonly causes: readonly string[];
  /** Names that cannot be told from it by the same sensors, or only by a second look. */
  readonly kin: readonly string[];
  /** Right subject: line, trunk, pump, source or channel. Empty: any will do. */
  readonly subjects: readonly string[];
  /** Ids of which one must be in the named set; empty: no place asked. */
  readonly places: readonly string[];
  /** What the pump's flow changed by at its present pressure, from the plant itself, m3/s; null: no size asked. */
  readonly flowM3s: ((plant: Plant) => number) | null;
  /** Where the size is a time: how long the water lasts, s. The trouble is one once that is less than LOW_S. */
  readonly leftS: ((plant: Plant) => number) | null;
}

/** The gateway's own mark for a tank that is low (supply-watch.ts). */
export const LOW_S = 1_200;

export interface Fault {
  readonly deeds: readonly Omit<Deed, 'do'>[];
  readonly answer: Answer;
}

export interface Aim {
  readonly recall: number;
  readonly line: number | null;
  readonly cause: number;
  readonly delayS: number;
}

export interface FaultClass {
  readonly name: string;
  readonly aim: Aim | null;
  /** How long to watch after the onset, at one reading a second. */
  readonly watchS: number;
  /** Quiet running before the onset, besides the usual: what has to be learned first. */
  readonly leadS?: number;
  /** What the tank holds at the start, minutes of pumping, if it holds so much. */
  readonly minutesLeft?: readonly [number, number];
  /** Why nobody can see it, for classes that are here to be honest about. */
  readonly unseen?: string;
  /** Which water the lay must have; without it, any. */
  readonly water?: 'tank' | 'open';
  /** Strength of the beat of impact heads; without it, any from nothing to plain. */
  readonly beat?: readonly [number, number];
  /** Null: this lay cannot have it. */
  readonly draw: (layout: Layout, plant: Plant, dice: SeededRandom) => Fault | null;
}

const OUTFLOW = ['head-off', 'leak', 'hose-burst'];
const BLOCKED = ['plug', 'restriction', 'gate-shut'];

function pick<Item>(items: readonly Item[], dice: SeededRandom): Item | null {
  return items[Math.floor(dice.uniform() * items.length)] ?? null;
}

function placeOf(layout: Layout, id: string): number {
  return layout.places.findIndex((place) => place.id === id);
}

function pumpFault(what: string, causes: readonly string[], size?: (dice: SeededRandom) => number): FaultClass['draw'] {
  return (layout, _plant, dice) => {
    const pump = layout.pumps[0]!.id;
    return {
      deeds: [{ what, at: pump, ...(size ? { size: size(dice) } : {}) }],
      answer: { causes, kin: [], subjects: [pump], places: [], flowM3s: null, leftS: null },
    };
  };
}

function sensorFault(
  what: string,
  causes: readonly string[],
  size?: (dice: SeededRandom) => number,
): FaultClass['draw'] {
  return (layout, _plant, dice) => {
    const sensor = pick(
      layout.sensors.filter(({ line, quantity }) => line !== null && quantity === 'pressure'),
      dice,
    )!;
    return {
      deeds: [{ what, at: sensor.id, ...(size ? { size: size(dice) } : {}) }],
      answer: {
        causes,
        kin: ['sensor-drift', 'sensor-stuck', 'sensor-swapped'],
        subjects: [sensor.id],
        places: [],
        flowM3s: null,
        leftS: null,
      },
    };
  };
}

function headFault(
  what: string,
  causes: readonly string[],
  fits: (head: Layout['heads'][number]) => boolean,
  size?: (dice: SeededRandom) => number,
): FaultClass['draw'] {
  return (layout, plant, dice) => {
    const head = pick(layout.heads.filter(fits), dice);
    if (!head) return null;
    return {
      deeds: [{ what, at: head.id, ...(size ? { size: size(dice) } : {}) }],
      answer: {
        causes,
        kin: what === 'head-off' ? OUTFLOW : BLOCKED,
        subjects: [head.line],
        places: [head.id],
        flowM3s: flowChange(layout, plant),
        leftS: null,
      },
    };
  };
}

function hoseFault(
  what: string,
  causes: readonly string[],
  fits: (hose: Layout['hoses'][number]) => boolean,
  size: (dice: SeededRandom, layout: Layout, plant: Plant, hose: Layout['hoses'][number]) => number | null,
): FaultClass['draw'] {
  return (layout, plant, dice) => {
    const hose = pick(layout.hoses.filter(fits), dice);
    if (!hose) return null;
    const value = size(dice, layout, plant, hose);
    const hole = OUTFLOW.includes(causes[0]!);
    return {
      deeds: [{ what, at: hose.id, ...(value === null ? {} : { size: value }) }],
      answer: {
        causes,
        kin: hole ? OUTFLOW : BLOCKED,
        subjects: [hose.line ?? 'trunk'],
        // A hole is done at the far end of the hose: the next hose and what hangs there are the same place.
        places: hole
          ? [hose.id, hose.to, ...layout.hoses.filter(({ from }) => from === hose.to).map(({ id }) => id)]
          : [hose.id],
        flowM3s: hole ? flowChange(layout, plant) : null,
        leftS: null,
      },
    };
  };
}

/**
 * Flow against what a sound lay would draw at the pressure of now: all outlets go with the root of it, heights apart.
 */
function flowChange(layout: Layout, before: Plant): (now: Plant) => number {
  const outlet = placeOf(layout, layout.pumps[0]!.outlet);
  const perRoot = before.pumpFlowM3s[0]! / Math.sqrt(before.pressurePa[outlet]!);
  return (now) => now.pumpFlowM3s[0]! - perRoot * Math.sqrt(Math.max(0, now.pressurePa[outlet]!));
}

/** Share of the hose's bore that loses the given share of the whole flow at the pressure there. */
function leakSize(share: number, layout: Layout, plant: Plant, hose: Layout['hoses'][number]): number {
  const flow = share * plant.pumpFlowM3s[0]!;
  const pressure = Math.max(2e4, plant.pressurePa[placeOf(layout, hose.to)]!);
  return Math.min(1, flow / Math.sqrt(pressure / 500) / (0.7 * (Math.PI / 4) * hose.kit.boreM ** 2));
}

/** Two line ends trade places; only a pair that reads apart can show it. */
function swappedPair(layout: Layout, plant: Plant, dice: SeededRandom): Fault | null {
  const ends = layout.sensors.filter(({ quantity, mounting }) => quantity === 'pressure' && mounting.kind === 'place');
  const reads = (sensor: Layout['sensors'][number]): number =>
    sensor.mounting.kind === 'place' ? plant.pressurePa[placeOf(layout, sensor.mounting.place)]! : NaN;
  const pairs = ends.flatMap((sensor, index) => {
    const next = ends[(index + 1) % ends.length]!;
    return Math.abs(reads(sensor) - reads(next)) > 15_000 ? [[sensor, next] as const] : [];
  });
  const pair = pick(pairs, dice);
  return (
    pair && {
      deeds: [{ what: 'sensor-swapped', at: pair[0].id }],
      answer: {
        causes: ['sensor-swapped'],
        kin: ['sensor-drift'],
        subjects: pair.map(({ id }) => id),
        places: [],
        flowM3s: null,
        leftS: null,
      },
    }
  );
}

/** Water that the strainer reaches, m3. */
export function reachableM3({ layout, volumeM3 }: Plant, source: number): number {
  const { shape, usable } = layout.sources[source]!;
  return volumeM3[source]! - (1 - usable) * sourceVolume(shape, depthOf(shape));
}

const AT_16_LITRES = 16 / 60_000;
const flowOf = (head: Layout['heads'][number]): number => head.kit.k * 345_000 ** head.kit.exponent;
const large = (head: Layout['heads'][number]): boolean => flowOf(head) > AT_16_LITRES;
const inLine = (hose: Layout['hoses'][number]): boolean => hose.line !== null;

/** A stalled head is scored by whether the baseline of its line had shown its beat, however strong the beat was. */
export const SEEN = 'impact stalled, beat seen';
export const UNSEEN = 'impact stalled, not seen';

export const CLASSES: readonly FaultClass[] = [
  {
    name: 'light head off',
    aim: { recall: 0.99, line: 0.99, cause: 0.95, delayS: 10 },
    watchS: 120,
    draw: headFault('head-off', ['head-off'], (head) => head.kit.light),
  },
  {
    name: 'light head slipped',
    aim: null,
    watchS: 180,
    unseen: 'A fall of 1 to 3 m is worth 1 to 5 % of one head: within the noise of its line end.',
    draw: headFault(
      'head-slipped',
      ['head-slipped'],
      (head) => head.kit.light,
      (dice) => dice.between(1, 3),
    ),
  },
  {
    name: SEEN,
    aim: { recall: 0.95, line: 0.99, cause: 0.95, delayS: 180 },
    watchS: 420,
    beat: [0.008, 0.02],
    draw: headFault('head-stalled', ['head-stalled'], (head) => head.kit.family === 'impact'),
  },
  {
    name: UNSEEN,
    aim: null,
    watchS: 300,
    beat: [0, 0.0004],
    unseen: 'Its flow stays, and the baseline did not show its beat: the screen says which lines showed how many.',
    draw: headFault('head-stalled', ['head-stalled'], (head) => head.kit.family === 'impact'),
  },
  {
    name: 'hose burst',
    aim: { recall: 1, line: 1, cause: 0.95, delayS: 5 },
    watchS: 90,
    draw: hoseFault(
      'hose-burst',
      ['hose-burst'],
      () => true,
      () => null,
    ),
  },
  {
    name: 'hose burned through',
    aim: { recall: 1, line: 1, cause: 0.95, delayS: 5 },
    watchS: 90,
    draw: hoseFault(
      'hose-burned',
      ['hose-burst'],
      () => true,
      () => null,
    ),
  },
  {
    name: 'valve shut',
    aim: { recall: 1, line: 1, cause: 0.95, delayS: 5 },
    watchS: 90,
    draw: (layout, _plant, dice) => {
      const gate = pick(layout.gates, dice);
      return (
        gate && {
          deeds: [{ what: 'gate-shut', at: gate.id }],
          answer: {
            causes: ['gate-shut'],
            kin: BLOCKED,
            subjects: [gate.line ?? 'trunk'],
            places: [gate.id],
            flowM3s: null,
            leftS: null,
          },
        }
      );
    },
  },
  {
    name: 'leak 3-10 % of flow',
    aim: { recall: 0.97, line: 0.95, cause: 0.9, delayS: 60 },
    watchS: 180,
    draw: hoseFault(
      'leak',
      ['leak'],
      () => true,
      (dice, ...where) => leakSize(dice.between(0.03, 0.1), ...where),
    ),
  },
  {
    name: 'gasket weeps and grows',
    aim: null,
    watchS: 900,
    draw: hoseFault(
      'gasket-weep',
      ['leak'],
      () => true,
      (dice, ...where) => leakSize(dice.between(0.05, 0.12), ...where),
    ),
  },
  {
    name: 'nozzle plugged',
    aim: { recall: 0.97, line: 0.97, cause: 0.9, delayS: 60 },
    watchS: 180,
    draw: headFault('plug', ['plug'], large, (dice) => dice.between(0.7, 1)),
  },
  {
    name: 'nozzle silts up',
    aim: null,
    watchS: 1_200,
    draw: headFault('plug-creeping', ['plug'], large, (dice) => dice.between(0.8, 1)),
  },
  {
    name: 'feeder kinked',
    aim: { recall: 0.97, line: 0.97, cause: 0.9, delayS: 30 },
    watchS: 150,
    // A head short of water behind its feeder or at its nozzle: one and the same to any gauge in the line.
    draw: headFault('feeder-kinked', ['restriction', 'plug'], large, (dice) => 10 ** dice.between(1.8, 3)),
  },
  {
    name: 'trunk or line kinked',
    aim: { recall: 0.97, line: 0.97, cause: 0.9, delayS: 30 },
    watchS: 150,
    draw: hoseFault(
      'restriction',
      ['restriction'],
      () => true,
      (dice) => 10 ** dice.between(1.3, 2.3),
    ),
  },
  {
    name: 'line hose kinked',
    aim: { recall: 0.97, line: 0.97, cause: 0.9, delayS: 30 },
    watchS: 150,
    draw: hoseFault('restriction', ['restriction'], inLine, (dice) => 10 ** dice.between(1.3, 2.3)),
  },
  {
    name: 'hose freezes',
    aim: null,
    watchS: 360,
    draw: hoseFault('frozen', ['restriction', 'gate-shut'], inLine, () => null),
  },
  {
    name: 'heads are taken',
    aim: null,
    watchS: 360,
    draw: (layout, _plant, dice) => {
      const line = pick(layout.lines, dice)!;
      return {
        deeds: [{ what: 'theft', at: line.id, size: 100 }],
        answer: {
          causes: ['plug', 'gate-shut', 'restriction'],
          kin: BLOCKED,
          subjects: [line.id],
          places: layout.heads.filter((head) => head.line === line.id).map(({ id }) => id),
          flowM3s: null,
          leftS: null,
        },
      };
    },
  },
  {
    name: 'engine loses speed',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 150,
    draw: pumpFault('pump-fade', ['pump-fade'], (dice) => dice.between(0.7, 0.85)),
  },
  {
    name: 'pump worn or fouled',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 120,
    draw: pumpFault('pump-worn', ['pump-fade'], (dice) => dice.between(0.75, 0.9)),
  },
  {
    name: 'engine stops',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 90,
    draw: pumpFault('pump-stop', ['pump-stop']),
  },
  {
    name: 'dead-head',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 90,
    draw: pumpFault('dead-head', ['dead-head']),
  },
  {
    name: 'suction loses prime',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 90,
    draw: pumpFault('suction-trouble', ['suction-trouble'], (dice) => dice.between(0.7, 0.95)),
  },
  {
    name: 'suction draws air',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 300,
    draw: pumpFault('suction-air-leak', ['suction-trouble'], (dice) => dice.between(0.3, 0.6)),
  },
  {
    name: 'strainer clogs',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 660,
    draw: pumpFault('strainer-clogging', ['suction-trouble'], (dice) => dice.between(20, 60)),
  },
  {
    name: 'can runs out',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 240,
    // A few seconds' worth, so that the engine stops at the onset.
    draw: (layout, plant, dice) =>
      pumpFault('fuel-out', ['pump-stop'], () => dice.between(1, 4) * layout.pumps[0]!.kit.fuelUseM3s * 1_000)(
        layout,
        plant,
        dice,
      ),
  },
  {
    name: 'source falls',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    water: 'open',
    watchS: 600,
    draw: (layout, _plant, dice) => {
      const source = layout.sources.find(({ shape }) => shape.kind === 'open-water');
      return source
        ? {
            deeds: [{ what: 'source-falling', at: source.id, size: dice.between(0.1, 0.5) }],
            answer: {
              causes: ['suction-trouble', 'source-falling'],
              kin: [],
              subjects: [source.id, layout.pumps[0]!.id],
              places: [],
              flowM3s: null,
              leftS: null,
            },
          }
        : null;
    },
  },
  {
    // No gateway knows when a tender was to come. What is true is how long the water lasts without it.
    name: 'refill late',
    aim: null,
    water: 'tank',
    minutesLeft: [28, 40],
    watchS: 600,
    draw: (layout, plant) => {
      const source = layout.sources.findIndex(({ shape }) => shape.kind !== 'open-water');
      const at = layout.sources[source]?.id;
      if (at === undefined) return null;
      const litres = 3 * plant.pumpFlowM3s[0]! * 60_000;
      return {
        deeds: [
          { what: 'shuttle', at, size: litres },
          { what: 'refill-late', at, size: 120 },
        ],
        answer: {
          causes: ['tank-low'],
          kin: [],
          subjects: [at],
          places: [],
          flowM3s: null,
          leftS: (now) => reachableM3(now, source) / now.pumpFlowM3s[0]!,
        },
      };
    },
  },
  {
    name: 'tank overfilled',
    aim: null,
    water: 'tank',
    watchS: 900,
    draw: (layout, plant) => {
      const source = layout.sources.find(({ shape }) => shape.kind !== 'open-water');
      if (!source || !layout.sensors.some(({ quantity }) => quantity === 'level')) return null;
      return {
        deeds: [{ what: 'tank-overfilled', at: source.id, size: 4 * plant.pumpFlowM3s[0]! * 60_000 }],
        answer: { causes: ['tank-overfull'], kin: [], subjects: [source.id], places: [], flowM3s: null, leftS: null },
      };
    },
  },
  {
    name: 'tank leaks 2-6 % of flow',
    aim: { recall: 0.95, line: null, cause: 0.9, delayS: 600 },
    water: 'tank',
    leadS: 900,
    watchS: 1_200,
    draw: (layout, plant, dice) => {
      const source = layout.sources.find(({ shape }) => shape.kind !== 'open-water');
      if (!source || !layout.sensors.some(({ quantity }) => quantity === 'level')) return null;
      return {
        deeds: [{ what: 'tank-leak', at: source.id, size: dice.between(0.02, 0.06) * plant.pumpFlowM3s[0]! * 60_000 }],
        answer: { causes: ['tank-leak'], kin: [], subjects: [source.id], places: [], flowM3s: null, leftS: null },
      };
    },
  },
  {
    name: 'sensor stuck',
    aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 },
    watchS: 120,
    draw: sensorFault('sensor-stuck', ['sensor-stuck']),
  },
  {
    name: 'sensor drifts',
    aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 },
    watchS: 300,
    draw: sensorFault('sensor-drift', ['sensor-drift'], (dice) => dice.between(15, 60)),
  },
  {
    name: 'sensor silent',
    aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 },
    watchS: 120,
    draw: sensorFault('sensor-silent', ['sensor-silent']),
  },
  {
    name: 'sensor stub iced',
    aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 },
    watchS: 420,
    draw: sensorFault('sensor-iced', ['sensor-stuck', 'sensor-drift'], (dice) => dice.between(2, 10)),
  },
  { name: 'sensors swapped', aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 }, watchS: 180, draw: swappedPair },
  {
    name: 'nothing wrong',
    aim: null,
    watchS: 1_500,
    draw: () => ({ deeds: [], answer: { causes: [], kin: [], subjects: [], places: [], flowM3s: null, leftS: null } }),
  },
];
