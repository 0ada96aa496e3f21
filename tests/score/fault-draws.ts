/**
 * How a fault of a class is drawn: where, how large, and its right answer.
 *
 * In: layout, plant (for pressures, so that a leak is a share of the flow), dice. Out: deeds and their right answer,
 * named as the simulator's own table names them; null: this lay cannot have it.
 */
import { CAUSES, familyOf } from '../../config/causes/causes.ts';
import type { Layout } from '../../config/layout/layout.ts';
import { EVENT_KINDS } from '../../simulator/faults/faults.ts';
import type { Plant } from '../../simulator/plant.ts';
import type { SeededRandom } from '../../simulator/seeded-random.ts';
import { depthOf, sourceVolume } from '../../simulator/vessel.ts';
import type { Answer, Fault, FaultClass } from './fault-class.ts';

/** The right names of a deed, and what moves the readings the same way; its own name, where no cause names it. */
export function named(what: string, subjects: readonly string[]): Answer {
  const { causes } = EVENT_KINDS[what]!;
  const first = causes[0];
  return {
    causes: first ? causes : [what],
    kin: first && CAUSES[first].family !== null ? familyOf(first) : [],
    subjects,
    places: [],
    flowM3s: null,
    leftS: null,
  };
}

export function pick<Item>(items: readonly Item[], dice: SeededRandom): Item | null {
  return items[Math.floor(dice.uniform() * items.length)] ?? null;
}

function placeOf(layout: Layout, id: string): number {
  return layout.places.findIndex((place) => place.id === id);
}

export function pumpFault(what: string, size?: (dice: SeededRandom) => number): FaultClass['draw'] {
  return (layout, _plant, dice) => {
    const pump = layout.pumps[0]!.id;
    return {
      deeds: [{ what, at: pump, ...(size ? { size: size(dice) } : {}) }],
      answer: { ...named(what, [pump]), kin: [] },
    };
  };
}

export function sensorFault(what: string, size?: (dice: SeededRandom) => number): FaultClass['draw'] {
  return (layout, _plant, dice) => {
    const sensor = pick(
      layout.sensors.filter(({ line, quantity }) => line !== null && quantity === 'pressure'),
      dice,
    )!;
    return {
      deeds: [{ what, at: sensor.id, ...(size ? { size: size(dice) } : {}) }],
      answer: { ...named(what, [sensor.id]), kin: ['sensor-drift', 'sensor-stuck', 'sensor-swapped'] },
    };
  };
}

export function headFault(
  what: string,
  fits: (head: Layout['heads'][number]) => boolean,
  size?: (dice: SeededRandom) => number,
): FaultClass['draw'] {
  return (layout, plant, dice) => {
    const head = pick(layout.heads.filter(fits), dice);
    if (!head) return null;
    return {
      deeds: [{ what, at: head.id, ...(size ? { size: size(dice) } : {}) }],
      answer: {
        ...named(what, [head.line]),
        // What keeps on flowing is taken for one that is short of water.
        kin: what === 'head-off' ? familyOf('leak') : familyOf('plug'),
        places: [head.id],
        flowM3s: flowChange(layout, plant),
      },
    };
  };
}

export function hoseFault(
  what: string,
  fits: (hose: Layout['hoses'][number]) => boolean,
  size: (dice: SeededRandom, layout: Layout, plant: Plant, hose: Layout['hoses'][number]) => number | null,
): FaultClass['draw'] {
  return (layout, plant, dice) => {
    const hose = pick(layout.hoses.filter(fits), dice);
    if (!hose) return null;
    const value = size(dice, layout, plant, hose);
    const hole = CAUSES[EVENT_KINDS[what]!.causes[0]!].family === 'outflow';
    return {
      deeds: [{ what, at: hose.id, ...(value === null ? {} : { size: value }) }],
      answer: {
        ...named(what, [hose.line ?? 'trunk']),
        // A hole is done at the far end of the hose: the next hose and what hangs there are the same place.
        places: hole
          ? [hose.id, hose.to, ...layout.hoses.filter(({ from }) => from === hose.to).map(({ id }) => id)]
          : [hose.id],
        flowM3s: hole ? flowChange(layout, plant) : null,
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
export function leakSize(share: number, layout: Layout, plant: Plant, hose: Layout['hoses'][number]): number {
  const flow = share * plant.pumpFlowM3s[0]!;
  const pressure = Math.max(2e4, plant.pressurePa[placeOf(layout, hose.to)]!);
  return Math.min(1, flow / Math.sqrt(pressure / 500) / (0.7 * (Math.PI / 4) * hose.kit.boreM ** 2));
}

/** Two line ends trade places; only a pair that reads apart can show it. */
export function swappedPair(layout: Layout, plant: Plant, dice: SeededRandom): Fault | null {
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
        ...named(
          'sensor-swapped',
          pair.map(({ id }) => id),
        ),
        kin: ['sensor-drift'],
      },
    }
  );
}

/** Water that the strainer reaches, m3. */
export function reachableM3({ layout, volumeM3 }: Plant, source: number): number {
  const { shape, usable } = layout.sources[source]!;
  return volumeM3[source]! - (1 - usable) * sourceVolume(shape, depthOf(shape));
}
