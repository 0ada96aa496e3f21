/**
 * The pumps with their suctions and outlet valves. A stopped pump lets water through, forwards where the water lies
 * higher, back where no valve holds it.
 *
 * In: speeds, waters, pressure at the outlet. Out: m3/s (back: negative) and Pa at the eye, gauge.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Conditions } from '../conditions.ts';
import { driven, hoseResistance } from '../flow-law.ts';
import type { TrueLay } from '../truth.ts';
import { curveAt } from '../vessel.ts';
import type { Engines } from './engines.ts';
import { Friction } from './friction.ts';
import { RHO_G, type WaterBalance } from './water-balance.ts';
import type { Waters } from './waters.ts';

/** Below this speed a pump is a passage and no more. */
const PASSIVE_SPEED = 0.03;
/** Loss factor of a pump that stands still, on the velocity head of its suction hose. Assumption. */
const PASSAGE_LOSS = 6;
/** A suction holds no water column below this, and little just above. */
const CAVITATION_PA = -92_000;
const CAVITATION_WIDTH_PA = 8_000;
const SUCTION_ROUGHNESS_M = 1e-4;

/** What the pumps stand between. */
export interface AroundPumps {
  readonly conditions: Conditions;
  readonly engines: Engines;
  readonly waters: Waters;
  readonly balance: WaterBalance;
}

export class Pumps {
  readonly flowM3s: Float64Array;
  readonly suctionPa: Float64Array;
  readonly #pumps: Layout['pumps'];
  readonly #outlets: readonly number[];
  readonly #around: AroundPumps;
  readonly #truth: TrueLay;
  readonly #suctions: Friction;

  constructor({ pumps }: Layout, truth: TrueLay, placeOf: (id: string) => number, around: AroundPumps) {
    this.#pumps = pumps;
    this.#outlets = pumps.map(({ outlet }) => placeOf(outlet));
    this.#around = around;
    this.#truth = truth;
    this.flowM3s = new Float64Array(pumps.length);
    this.suctionPa = new Float64Array(pumps.length);
    this.#suctions = new Friction(
      pumps.map(({ suctionHose: { boreM }, suctionLengthM, suctionLossFactor }) => ({
        boreM,
        lengthM: suctionLengthM,
        roughnessM: SUCTION_ROUGHNESS_M,
        lossFactor: suctionLossFactor,
      })),
    );
  }

  rub(): void {
    this.#suctions.follow(
      this.flowM3s.map((flow) => Math.max(flow, 1e-4)),
      this.#around.conditions.suctionFactor,
    );
  }

  add(): void {
    const { engines, waters, balance } = this.#around;
    this.#pumps.forEach((pump, index) => {
      const outlet = this.#outlets[index]!;
      if (engines.speedRatio[index]! < PASSIVE_SPEED) return this.#addPassage(index, outlet);
      const lift = waters.liftM(index);
      const head = (flow: number): number => this.#outletPa(index, flow, lift);
      const target = balance.pressurePa[outlet]!;
      let flow = 0;
      if (head(0) > target) {
        let low = 0;
        let high = 2 * pump.kit.curveFlowM3s.at(-1)!;
        for (let round = 0; round < 40; round += 1) {
          const middle = (low + high) / 2;
          if (head(middle) > target) low = middle;
          else high = middle;
        }
        flow = (low + high) / 2;
      }
      this.flowM3s[index] = flow;
      this.suctionPa[index] = this.#suctionPa(index, flow, waters.liftM(index));
      const nudge = 1e-6;
      const slope = flow > 0 ? nudge / Math.max(1e-3, head(flow) - head(flow + nudge)) : 0;
      balance.gains(outlet, flow, slope);
    });
  }

  /** A pump that stands still: a siphon forwards, a drain backwards unless its valve holds. */
  #addPassage(index: number, outlet: number): void {
    const pump = this.#pumps[index]!;
    const { conditions, waters, balance } = this.#around;
    this.suctionPa[index] = RHO_G * waters.liftM(index) * (1 - conditions.suctionAir[index]!);
    this.flowM3s[index] = 0;
    if (!balance.wet[outlet] || !waters.reaches(index)) return;
    const drive =
      this.suctionPa[index]! - RHO_G * (this.#truth.heightsM[outlet]! - pump.elevationM) - balance.pressurePa[outlet]!;
    const holds = pump.checkValve && !conditions.valveStuck[index];
    if (drive < 0 && holds) return;
    const { flow, slope } = driven(
      drive,
      hoseResistance(
        pump.suctionHose.boreM,
        pump.suctionLengthM,
        SUCTION_ROUGHNESS_M,
        pump.suctionLossFactor + PASSAGE_LOSS,
        1e-3,
      ),
    );
    this.flowM3s[index] = flow;
    balance.gains(outlet, flow, slope);
  }

  #suctionPa(index: number, flow: number, lift: number): number {
    const { suctionAir } = this.#around.conditions;
    return RHO_G * lift * (1 - suctionAir[index]!) - this.#suctions.resistance[index]! * flow ** 2;
  }

  #outletPa(index: number, flow: number, lift: number): number {
    const pump = this.#pumps[index]!;
    const { conditions, engines, waters } = this.#around;
    const speed = engines.speedRatio[index]!;
    const suction = this.#suctionPa(index, flow, lift);
    const column = Math.max(0, Math.min(1, (suction - CAVITATION_PA) / CAVITATION_WIDTH_PA));
    const primed = waters.reaches(index) ? column * (1 - conditions.suctionAir[index]!) ** 2 : 0;
    if (speed <= 0 || primed <= 0) return -1e6;
    const rise = curveAt(pump.kit.curveFlowM3s, pump.kit.curveRisePa, flow / speed) * speed ** 2;
    const outletM = this.#truth.heightsM[this.#outlets[index]!]!;
    return (
      suction +
      rise * this.#truth.pumpFactor[index]! * conditions.curveShare[index]! * primed -
      RHO_G * (outletM - pump.elevationM)
    );
  }
}
