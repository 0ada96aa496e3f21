/**
 * Where water leaves the lay: heads as orifices behind their feeders, holes, parted hoses.
 *
 * In: pressures of the water balance, what is wrong with each. Out: m3/s by head, and through holes together.
 */
import type { Conditions } from '../conditions.ts';
import { driven, WATER_DENSITY } from '../flow-law.ts';
import type { TrueHead } from '../truth.ts';
import { Friction } from './friction.ts';
import { RHO_G, type WaterBalance } from './water-balance.ts';

export class Outlets {
  readonly headFlowM3s: Float64Array;
  holeFlowM3s = 0;
  readonly #heads: readonly TrueHead[];
  readonly #conditions: Conditions;
  readonly #balance: WaterBalance;
  readonly #feederFlow: Float64Array;
  readonly #feeders: Friction;

  constructor(heads: readonly TrueHead[], conditions: Conditions, balance: WaterBalance) {
    this.#heads = heads;
    this.#conditions = conditions;
    this.#balance = balance;
    this.headFlowM3s = new Float64Array(heads.length);
    this.#feederFlow = new Float64Array(heads.length).fill(1e-4);
    this.#feeders = new Friction(heads.map(({ feeder }) => feeder));
  }

  rub(): void {
    this.#feeders.follow(this.#feederFlow, this.#conditions.feederFactor);
  }

  add(): void {
    const { wet, pressurePa } = this.#balance;
    this.#heads.forEach((head, index) => {
      const { headOff, headTaken, headShare, headDropM } = this.#conditions;
      const loose = headOff[index]!;
      const area = headTaken[index] ? 0 : loose * head.openAreaM2 + (1 - loose) * head.areaM2 * headShare[index]!;
      const drive = pressurePa[head.at]! - RHO_G * (head.riseM - headDropM[index]!);
      if (!wet[head.at] || drive <= 0 || area < 1e-9) {
        this.headFlowM3s[index] = 0;
        return;
      }
      const resistance = WATER_DENSITY / 2 / area ** 2 + this.#feeders.resistance[index]!;
      const { flow, slope } = driven(drive, resistance);
      this.headFlowM3s[index] = flow;
      this.#feederFlow[index] = Math.max(flow, 1e-6);
      this.#balance.gains(head.at, -flow, slope);
    });
    this.holeFlowM3s = 0;
    this.#conditions.holeM2.forEach((hole, node) => {
      const area = hole + this.#conditions.burstM2[node]!;
      if (area <= 0 || !wet[node] || pressurePa[node]! <= 0) return;
      const { flow, slope } = driven(pressurePa[node]!, WATER_DENSITY / 2 / area ** 2);
      this.holeFlowM3s += flow;
      this.#balance.gains(node, -flow, slope);
    });
  }
}
