/**
 * Wind as far as a sensor can feel it: impact heads turn unevenly, and waves run in a tank. Pressures and flows stay.
 *
 * In: mean speed from the conditions, seed, time. Out: m/s with its gusts; how unevenly a head turns; height of the
 * waves, m. Gusts: three slow swings whose root mean square is a fifth of the mean (common practice for open ground, no
 * source). Waves: significant height 0.0016 U sqrt(F / g) over a fetch F (JONSWAP 1973, as in the Shore Protection
 * Manual 1984; from memory), a quarter of it as standard deviation, felt in full by a level sensor. What it does to
 * impact heads is Judgement: no published figure. Limit: no throw is computed here, so what drifts off a roof is not
 * either.
 */
import type { Layout } from '../config/layout/layout.ts';
import { SeededRandom } from './seeded-random.ts';
import { GRAVITY } from './flow-law.ts';
import type { Plant } from './plant.ts';
import { depthOf, sourceVolume } from './vessel.ts';

const GUST_SHARE = 0.2;
const GUST_PERIODS_S = [
  [5, 20],
  [20, 60],
  [60, 300],
] as const;
/** Fetch on open water, m. Assumption. */
const OPEN_FETCH_M = 50;
/** Shares of a head's rate for each m/s: from strike to strike, and with the way it faces. */
const JITTER_PER_MPS = 0.004;
const FACING_PER_MPS = 0.003;

export class Wind {
  readonly #plant: Plant;
  readonly #swings: readonly { readonly periodS: number; readonly phase: number }[];
  readonly #fetchM: readonly number[];

  constructor(layout: Layout, plant: Plant, seed: number) {
    this.#plant = plant;
    const dice = SeededRandom.named(seed, 'wind');
    this.#swings = GUST_PERIODS_S.map(([least, most]) => ({
      periodS: dice.between(least, most),
      phase: dice.uniform(),
    }));
    this.#fetchM = layout.sources.map(({ shape }) =>
      shape.kind === 'open-water' ? OPEN_FETCH_M : Math.sqrt(sourceVolume(shape, depthOf(shape)) / depthOf(shape)),
    );
  }

  speedMps(nowMs: number): number {
    const mean = this.#plant.conditions.windMps[0]!;
    const swing = this.#swings.reduce(
      (sum, { periodS, phase }) => sum + Math.sin(2 * Math.PI * (nowMs / 1_000 / periodS + phase)),
      0,
    );
    return Math.max(0, mean * (1 + GUST_SHARE * Math.sqrt(2 / this.#swings.length) * swing));
  }

  /** Standard deviation of the pace from strike to strike, as a share. */
  jitter(nowMs: number): number {
    return JITTER_PER_MPS * this.speedMps(nowMs);
  }

  /** Factor on the rate of a head that has turned by `turn` (1: once round). */
  paceAt(turn: number, nowMs: number): number {
    return 1 + FACING_PER_MPS * this.speedMps(nowMs) * Math.cos(2 * Math.PI * turn);
  }

  /** Standard deviation of the water's surface, m. */
  wavesSdM(source: number, nowMs: number): number {
    return 0.25 * 0.0016 * this.speedMps(nowMs) * Math.sqrt(this.#fetchM[source]! / GRAVITY);
  }
}
