/**
 * A repair that takes time: what a fault had changed in the plant comes back over some seconds, as by a hand that turns
 * a gate or screws a coupling tight.
 *
 * In: conditions before and after, seconds it takes. Out: the conditions on the way. Openings, holes and shares go in
 * even steps; the resistance of a hose goes as a kink opens, by its clear bore. What is either there or not comes back
 * at the end.
 */
import type { Conditions } from './conditions.ts';

/** Resistance goes with the bore's area to this power. Assumption, the same as of a gate. */
const BY_AREA = -2.5;
const RESISTANCES: readonly (keyof Conditions)[] = ['hoseFactor', 'feederFactor', 'suctionFactor'];

interface Part {
  readonly name: keyof Conditions;
  readonly index: number;
  readonly from: number;
  readonly to: number;
}

type Copy = Readonly<Record<keyof Conditions, readonly number[]>>;
const names = (conditions: Conditions): (keyof Conditions)[] => Object.keys(conditions) as (keyof Conditions)[];

export function copyOf(conditions: Conditions): Copy {
  return Object.fromEntries(names(conditions).map((name) => [name, [...conditions[name]]])) as unknown as Copy;
}

export class Mending {
  readonly #conditions: Conditions;
  readonly #parts: readonly Part[];
  readonly #overS: number;

  /** `before`: as it was; the conditions are as they will be. They go back to what they were, for a beginning. */
  constructor(conditions: Conditions, before: Copy, overS: number) {
    this.#conditions = conditions;
    this.#overS = overS;
    this.#parts = names(conditions).flatMap((name) =>
      before[name].flatMap((from, index): Part[] => {
        const to = conditions[name][index]!;
        return from === to ? [] : [{ name, index, from, to }];
      }),
    );
    this.second(0);
  }

  /** True once all is as it will be. */
  second(elapsedS: number): boolean {
    const share = Math.min(1, elapsedS / this.#overS);
    for (const { name, index, from, to } of this.#parts) {
      const values = this.#conditions[name];
      const between = RESISTANCES.includes(name)
        ? ((1 - share) * from ** (1 / BY_AREA) + share * to ** (1 / BY_AREA)) ** BY_AREA
        : (1 - share) * from + share * to;
      values[index] = share === 1 ? to : values instanceof Uint8Array ? from : between;
    }
    return share === 1;
  }
}
