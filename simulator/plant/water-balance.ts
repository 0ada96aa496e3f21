/**
 * The water balance of every place in one step: the stretch of the hoses there against what flows in, by implicit Euler
 * and Newton on a dense matrix, so that it is stable at any step.
 *
 * In: what links, outlets and pumps pass at the pressures of the moment, and their slopes, m3/s and m3/s per Pa. Out:
 * gauge pressure at every place, Pa; which places have water.
 */
import { driven, eliminate, GRAVITY, WATER_DENSITY } from '../flow-law.ts';
import type { TrueHose, TrueLay } from '../truth.ts';

const NEWTON_ROUNDS = 30;
/** After so many rounds half a step is taken: heads that open and shut about zero pressure would swing for ever. */
const FULL_ROUNDS = 8;
/** Stretch of lay-flat hose: its volume grows by this share per Pa. Assumption, no source. */
const STRETCH_PER_PA = 5e-8;
export const RHO_G = WATER_DENSITY * GRAVITY;

export function volumeOf(hose: TrueHose): number {
  return (Math.PI / 4) * hose.boreM ** 2 * hose.lengthM;
}

export class WaterBalance {
  readonly pressurePa: Float64Array;
  readonly wet: Uint8Array;
  readonly #heightsM: readonly number[];
  readonly #stretch: Float64Array;
  #matrix = new Float64Array();
  #right = new Float64Array();

  constructor({ heightsM, hoses }: TrueLay) {
    this.#heightsM = heightsM;
    this.pressurePa = new Float64Array(heightsM.length);
    this.wet = new Uint8Array(heightsM.length);
    this.#stretch = new Float64Array(heightsM.length).fill(1e-12);
    for (const hose of hoses) {
      for (const end of [hose.from, hose.to]) this.#stretch[end]! += 0.5 * volumeOf(hose) * STRETCH_PER_PA;
    }
  }

  /** `add`: puts in all that flows; called once a round. */
  solve(dt: number, add: () => void): void {
    const size = this.pressurePa.length;
    const before = Float64Array.from(this.pressurePa);
    const matrix = (this.#matrix = new Float64Array(size * size));
    const right = (this.#right = new Float64Array(size));
    for (let round = 0; round < NEWTON_ROUNDS; round += 1) {
      matrix.fill(0);
      for (let node = 0; node < size; node += 1) {
        const stretch = this.wet[node] ? this.#stretch[node]! / dt : 1;
        matrix[node * size + node] = stretch;
        right[node] = this.wet[node] ? -stretch * (this.pressurePa[node]! - before[node]!) : -this.pressurePa[node]!;
      }
      add();
      eliminate(matrix, right, size);
      let most = 0;
      for (let node = 0; node < size; node += 1) {
        const move = (round < FULL_ROUNDS ? 1 : 0.5) * Math.max(-2e5, Math.min(2e5, right[node]!));
        this.pressurePa[node]! += move;
        most = Math.max(most, Math.abs(move));
      }
      if (most < 1) return;
    }
  }

  /** Water runs in at a place (out: negative); `slope`: how much less of it comes by each Pa more there. */
  gains(place: number, flow: number, slope: number): void {
    this.#right[place]! += flow;
    this.#matrix[place * this.pressurePa.length + place]! += slope;
  }

  /** What two places pass to each other. */
  link(from: number, to: number, resistance: number): number {
    const [matrix, right, size] = [this.#matrix, this.#right, this.pressurePa.length];
    const lift = RHO_G * (this.#heightsM[to]! - this.#heightsM[from]!);
    const { flow, slope } = driven(this.pressurePa[from]! - this.pressurePa[to]! - lift, resistance);
    right[from]! -= flow;
    right[to]! += flow;
    matrix[from * size + from]! += slope;
    matrix[to * size + to]! += slope;
    matrix[from * size + to]! -= slope;
    matrix[to * size + from]! -= slope;
    return flow;
  }
}
