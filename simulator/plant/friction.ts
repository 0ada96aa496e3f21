/**
 * Friction that follows the flow half of the way each step, not within it: between laminar and rough it would swing for
 * ever.
 *
 * In: what flows, m3/s. Out: resistances, Pa over (m3/s)^2.
 */
import type { Conditions } from '../conditions.ts';
import { hoseResistance } from '../flow-law.ts';

const FIRST_FLOW_M3S = 1e-4;

/** Hoses of one kind. */
export interface Rubbing {
  readonly boreM: number;
  readonly lengthM: number;
  readonly roughnessM: number;
  readonly lossFactor: number;
}

export class Friction {
  readonly resistance: Float64Array;
  readonly #hoses: readonly Rubbing[];
  /** What friction is reckoned by. */
  readonly #followed: Float64Array;

  constructor(hoses: readonly Rubbing[]) {
    this.#hoses = hoses;
    this.#followed = new Float64Array(hoses.length).fill(FIRST_FLOW_M3S);
    this.resistance = new Float64Array(hoses.length);
  }

  follow(flows: Float64Array, factors: Conditions['hoseFactor']): void {
    this.#hoses.forEach(({ boreM, lengthM, roughnessM, lossFactor }, index) => {
      this.#followed[index]! += 0.5 * (flows[index]! - this.#followed[index]!);
      this.resistance[index] =
        factors[index]! * hoseResistance(boreM, lengthM, roughnessM, lossFactor, this.#followed[index]!);
    });
  }
}
