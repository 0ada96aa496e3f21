/**
 * What moving water that is stopped, or set going, adds to the pressure for a moment.
 *
 * In: flow of every hose, a step at a time. Out: at each place the height of the wave that runs there now, Pa, dying
 * away within seconds. Water hammer after Joukowsky (1898), rho a dv, less in proportion where the change takes longer
 * than the wave needs to the hose's end and back. A front that reaches the end of a dry hose is stopped water too.
 * Limit: the change of one step counts as spread over it; branches do not split the wave, and its damping is assumed.
 */
import type { Layout } from '../config/layout/layout.ts';
import { WATER_DENSITY } from './flow-law.ts';

/** Time in which a wave falls to a third in soft hose. Assumption. */
export const DAMPING_S = 0.8;

interface Reach {
  readonly from: number;
  readonly to: number;
  readonly areaM2: number;
  readonly waveMps: number;
  readonly returnS: number;
}

export class Shocks {
  readonly shockPa: Float64Array;
  readonly #reaches: readonly Reach[];
  readonly #before: Float64Array;

  constructor(layout: Layout) {
    const place = new Map(layout.places.map(({ id }, index) => [id, index]));
    this.shockPa = new Float64Array(layout.places.length);
    this.#reaches = layout.hoses.map(({ from, to, kit, lengthM }) => ({
      from: place.get(from)!,
      to: place.get(to)!,
      areaM2: (Math.PI / 4) * kit.boreM ** 2,
      waveMps: kit.waveSpeedMps,
      returnS: (2 * lengthM) / kit.waveSpeedMps,
    }));
    this.#before = new Float64Array(layout.hoses.length);
  }

  step(flowM3s: Float64Array, dt: number): void {
    const left = Math.exp(-dt / DAMPING_S);
    this.shockPa.forEach((pressure, place) => {
      this.shockPa[place] = pressure * left;
    });
    this.#reaches.forEach(({ from, to, areaM2, waveMps, returnS }, hose) => {
      const changeMps = Math.abs(flowM3s[hose]! - this.#before[hose]!) / areaM2;
      this.#before[hose] = flowM3s[hose]!;
      const wave = WATER_DENSITY * waveMps * changeMps * Math.min(1, returnS / dt);
      for (const end of [from, to]) this.shockPa[end] = Math.max(this.shockPa[end]!, wave);
    });
  }

  /** Nothing runs any more: for a lay that starts in the middle of a run. */
  calm(): void {
    this.shockPa.fill(0);
  }
}
