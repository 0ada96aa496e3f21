/**
 * What goes on at a site while nothing is wrong: the throttle is moved, a tender fills the tank, a line is gated by
 * order, batteries are swapped, the engine is filled up, the night cools; told to the gateway as a crew would.
 *
 * In: layout, dice, span, subjects to leave alone. Out: chores with their second, in order. Judgement: more of it than a
 * calm site sees, so that an hour of score is harder than an hour of life.
 */
import type { Layout } from '../../config/layout.ts';
import type { Entry } from '../../config/wire.ts';
import type { Deed } from '../../simulator/deeds.ts';
import type { Dice } from '../../simulator/dice.ts';

export interface Chore {
  readonly atS: number;
  readonly words: string;
  readonly deed: Deed | null;
  readonly entry: Entry | null;
}

/** How often an hour. */
const THROTTLES = 5;
const GATINGS = 2;
const BATTERIES = 0.5;
/** An engine is filled up only in runs this long: the rest of a short one would be nothing but that. */
const REFUEL_FROM_S = 1_200;
const REFUEL_MIN = 5;

export function normalLife(layout: Layout, dice: Dice, fromS: number, toS: number, spare: readonly string[]): Chore[] {
  const chores: Chore[] = [];
  const when = (): number => Math.floor(dice.between(fromS, toS));
  const many = (perHour: number): number => Math.floor((perHour * (toS - fromS)) / 3_600 + dice.uniform());
  const pump = layout.pumps[0]!.id;
  for (let count = many(THROTTLES); count > 0; count -= 1) {
    const size = dice.between(0.85, 1.02);
    chores.push({ atS: when(), words: `throttle to ${(100 * size).toFixed(0)} %`, deed: { do: 'start', what: 'throttle', at: pump, size }, entry: null });
  }
  const source = layout.sources[0]!;
  chores.push({ atS: fromS, words: 'night cools', deed: { do: 'start', what: 'cooling', size: dice.between(0, 15) }, entry: null });
  // A tank lasts minutes: the tender comes at once, and stays; what it brings nobody measures, so no tank's own balance is asked then.
  if (source.shape.kind !== 'open-water' && !spare.includes(source.id)) chores.push({ atS: fromS, words: 'tender fills', deed: { do: 'start', what: 'tender', at: source.id, size: tenderLitres(layout, dice) }, entry: null });
  const sensors = layout.sensors.filter(({ id, line, quantity }) => line !== null && quantity === 'pressure' && !spare.includes(id) && !spare.includes(line));
  for (let count = many(BATTERIES); count > 0 && sensors.length > 0; count -= 1) {
    const sensor = sensors[Math.floor(dice.uniform() * sensors.length)]!;
    chores.push({ atS: when(), words: `battery of ${sensor.id} swapped`, deed: { do: 'start', what: 'sensor-battery', at: sensor.id }, entry: null });
  }
  const gates = layout.gates.filter(({ line }) => line !== null && !spare.includes(line));
  for (let count = many(GATINGS); count > 0 && gates.length > 2; count -= 1) chores.push(...gating(gates[Math.floor(dice.uniform() * gates.length)]!, when(), toS, fromS, dice));
  if (toS - fromS > REFUEL_FROM_S && spare.length === 0) {
    const atS = Math.floor(dice.between(fromS + 300, toS - 400));
    chores.push({ atS: atS - 5, words: 'refuelling told', deed: null, entry: { kind: 'mode', by: 'AB', mode: 'refuelling', minutes: REFUEL_MIN } });
    chores.push({ atS, words: 'engine stopped and filled up', deed: { do: 'start', what: 'refuel', at: pump }, entry: null });
  }
  return chores.sort((a, b) => a.atS - b.atS);
}

/** About what the heads use, so that a tank neither runs dry nor over within a run. */
function tenderLitres(layout: Layout, dice: Dice): number {
  const used = layout.heads.reduce((sum, { kit }) => sum + kit.k * 300_000 ** kit.exponent, 0);
  return used * 60_000 * dice.between(0.95, 1.25);
}

function gating(gate: Layout['gates'][number], shutS: number, toS: number, fromS: number, dice: Dice): Chore[] {
  const openS = Math.min(toS - 1, shutS + Math.floor(dice.between(60, 240)));
  const told = Math.floor(dice.between(-3, 1));
  return ([[shutS, 0], [openS, gate.opening]] as const).flatMap(([atS, opening]): Chore[] => [
    { atS, words: `${gate.id} set to ${opening} by order`, deed: { do: 'start', what: 'gate', at: gate.id, size: opening }, entry: null },
    { atS: Math.max(fromS, atS + told), words: `${gate.id} told to the gateway`, deed: null, entry: { kind: 'gate', by: 'AB', gate: gate.id, opening } },
  ]);
}
