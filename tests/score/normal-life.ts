/**
 * What goes on at a site while nothing is wrong: the throttle is moved, a tender fills the tank, a line is gated by
 * order, and told to the gateway as a crew would.
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

export function normalLife(layout: Layout, dice: Dice, fromS: number, toS: number, spare: readonly string[]): Chore[] {
  const chores: Chore[] = [];
  const when = (): number => Math.floor(dice.between(fromS, toS));
  const many = (perHour: number): number => {
    const mean = (perHour * (toS - fromS)) / 3_600;
    return Math.floor(mean + dice.uniform());
  };
  for (let count = many(5); count > 0; count -= 1) {
    const size = dice.between(0.85, 1.02);
    chores.push({ atS: when(), words: `throttle to ${(100 * size).toFixed(0)} %`, deed: { do: 'start', what: 'throttle', at: layout.pumps[0]!.id, size }, entry: null });
  }
  const source = layout.sources.find(({ shape }) => shape.kind !== 'open-water');
  // A tank lasts minutes: the tender comes at once, and stays when the run is long.
  if (source) chores.push({ atS: fromS, words: 'tender fills', deed: { do: 'start', what: 'tender', at: source.id, size: 350 * Math.max(1, layout.heads.length / 15) }, entry: null });
  const gates = layout.gates.filter(({ line }) => line !== null && !spare.includes(line));
  for (let count = many(2); count > 0 && gates.length > 2; count -= 1) {
    const gate = gates[Math.floor(dice.uniform() * gates.length)]!;
    const shutS = when();
    const openS = Math.min(toS - 1, shutS + Math.floor(dice.between(60, 240)));
    const told = Math.floor(dice.between(-3, 1));
    for (const [atS, opening] of [[shutS, 0], [openS, gate.opening]] as const) {
      chores.push({ atS, words: `${gate.id} set to ${opening} by order`, deed: { do: 'start', what: 'gate', at: gate.id, size: opening }, entry: null });
      chores.push({ atS: Math.max(fromS, atS + told), words: `${gate.id} told to the gateway`, deed: null, entry: { kind: 'gate', by: 'AB', gate: gate.id, opening } });
    }
  }
  return chores.sort((a, b) => a.atS - b.atS);
}
