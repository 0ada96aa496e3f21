/**
 * What goes on at a site around a fault: the throttle is moved, a tender fills the tank, a line is gated by order,
 * batteries are swapped, the night cools, it blows; told to the gateway as a crew would. Where nothing is wrong:
 * quiet-life.ts.
 *
 * In: layout, dice, span, subjects to leave alone. Out: chores with their second, in order. Judgement: more of it than
 * a calm site sees, so that an hour of score is harder than an hour of life.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Deed } from '../../simulator/events.ts';
import type { SeededRandom } from '../../simulator/seeded-random.ts';

/** Sorts of chore, as the scorecard counts false alarms by. */
export const CHORES = [
  'throttle',
  'gating',
  'cycling',
  'refuelling',
  'slow start',
  'fast start',
  'slow fill',
  'fast fill',
  'tender',
  'battery',
  'cooling',
  'wind',
  'gateway restart',
] as const;
export type ChoreKind = (typeof CHORES)[number];

export interface Chore {
  readonly atS: number;
  readonly kind: ChoreKind;
  readonly words: string;
  readonly deed: Deed | null;
  readonly entry: Entry | null;
  /** The gateway is stopped for so long, and started again. */
  readonly awayS?: number;
}

/** How often an hour. */
const THROTTLES = 5;
const GATINGS = 2;
const BATTERIES = 0.5;
/** Judgement: half the nights are still; 15 m/s is a gale. */
const WINDY_SHARE = 0.5;
const WIND_MPS = [2, 15] as const;

export function done(
  atS: number,
  kind: ChoreKind,
  words: string,
  what: string,
  at: string | null,
  size?: number,
): Chore {
  return {
    atS,
    kind,
    words,
    deed: { do: 'start', what, ...(at === null ? {} : { at }), ...(size === undefined ? {} : { size }) },
    entry: null,
  };
}

export function told(atS: number, kind: ChoreKind, words: string, entry: Entry): Chore {
  return { atS, kind, words, deed: null, entry };
}

export function normalLife(
  layout: Layout,
  dice: SeededRandom,
  fromS: number,
  toS: number,
  spare: readonly string[],
): Chore[] {
  const chores: Chore[] = [];
  const when = (): number => Math.floor(dice.between(fromS, toS));
  const many = (perHour: number): number => Math.floor((perHour * (toS - fromS)) / 3_600 + dice.uniform());
  for (let count = many(THROTTLES); count > 0; count -= 1)
    chores.push(throttled(layout, when(), dice.between(0.85, 1.02)));
  const source = layout.sources[0]!;
  chores.push(done(fromS, 'cooling', 'night cools', 'cooling', null, dice.between(0, 15)));
  // A tank lasts minutes: the tender comes at once, and stays; what it brings nobody measures, so no tank's own balance
  // is asked then.
  if (source.shape.kind !== 'open-water' && !spare.includes(source.id))
    chores.push(
      done(fromS, 'tender', 'tender fills', 'tender', source.id, usedLitres(layout) * dice.between(0.95, 1.25)),
    );
  for (let count = many(BATTERIES); count > 0; count -= 1) chores.push(...battery(layout, when(), dice, spare));
  const gates = layout.gates.filter(({ line }) => line !== null && !spare.includes(line));
  for (let count = many(GATINGS); count > 0 && gates.length > 2; count -= 1)
    chores.push(...gating(gates[Math.floor(dice.uniform() * gates.length)]!, when(), toS, fromS, dice));
  chores.push(...wind(fromS, dice));
  return chores.sort((a, b) => a.atS - b.atS);
}

export function throttled(layout: Layout, atS: number, size: number, kind: ChoreKind = 'throttle'): Chore {
  return done(atS, kind, `throttle to ${(100 * size).toFixed(0)} %`, 'throttle', layout.pumps[0]!.id, size);
}

export function wind(atS: number, dice: SeededRandom): Chore[] {
  const blows = dice.uniform() < WINDY_SHARE;
  const size = dice.between(...WIND_MPS);
  return blows ? [done(atS, 'wind', `wind ${size.toFixed(0)} m/s`, 'wind', null, size)] : [];
}

export function battery(layout: Layout, atS: number, dice: SeededRandom, spare: readonly string[]): Chore[] {
  const sensors = layout.sensors.filter(
    ({ id, line, quantity }) =>
      line !== null && quantity === 'pressure' && !spare.includes(id) && !spare.includes(line),
  );
  const sensor = sensors[Math.floor(dice.uniform() * sensors.length)];
  return sensor ? [done(atS, 'battery', `battery of ${sensor.id} swapped`, 'sensor-battery', sensor.id)] : [];
}

/** About what the heads use, L/min. */
export function usedLitres(layout: Layout): number {
  return layout.heads.reduce((sum, { kit }) => sum + kit.k * 300_000 ** kit.exponent, 0) * 60_000;
}

function gating(gate: Layout['gates'][number], shutS: number, toS: number, fromS: number, dice: SeededRandom): Chore[] {
  const openS = Math.min(toS - 1, shutS + Math.floor(dice.between(60, 240)));
  return [
    ...turned(gate, shutS, 0, 'gating', fromS, dice),
    ...turned(gate, openS, gate.opening, 'gating', fromS, dice),
  ];
}

/** The hand on the valve, and the word for it: up to three seconds before. */
export function turned(
  gate: Layout['gates'][number],
  atS: number,
  opening: number,
  kind: ChoreKind,
  fromS: number,
  dice: SeededRandom,
): Chore[] {
  return [
    done(atS, kind, `${gate.id} set to ${opening} by order`, 'gate', gate.id, opening),
    told(Math.max(fromS, atS + Math.floor(dice.between(-3, 1))), kind, `${gate.id} told to the gateway`, {
      kind: 'gate',
      by: 'AB',
      gate: gate.id,
      opening,
    }),
  ];
}
