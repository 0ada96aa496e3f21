/**
 * The pump's own side of the balance, at measured flow: what it should add, and what its suction should read.
 *
 * In: flow m3/s, speed over rated, level m. Out: Pa. Affinity: rise = s^2 f(q/s). Suction: static head of the source
 * less hose friction and fittings (hydraulics/friction). Valid for forward flow.
 */
import type { Layout } from '../../../../config/layout/layout.ts';
import { mainsLoss } from '../../hydraulics/source.ts';
import { PA_PER_M } from '../../hydraulics/constants.ts';
import {
  frictionResistance,
  HAZEN_WILLIAMS_EXPONENT,
  darcyFactor,
  reynoldsPerFlow,
  velocityPressure,
} from '../../hydraulics/friction.ts';
import { WATER_VISCOSITY_M2S } from '../../hydraulics/constants.ts';
import { evaluateRated, fitPumpCurve, type PumpCurve } from '../../hydraulics/pump-curve.ts';

/** Of the flow at the end of the curve: how far past it is looked, and how closely. */
const MOST_OF_CURVE = 2;
const CLOSE_SHARE = 1e-3;

export class PumpSide {
  readonly ratedFlowM3s: number;
  readonly #layout: Layout;
  readonly #pump: Layout['pumps'][number];
  readonly #curve: PumpCurve;
  readonly #out = new Float64Array(2);

  constructor(layout: Layout, pump: number) {
    this.#layout = layout;
    this.#pump = layout.pumps[pump]!;
    this.#curve = fitPumpCurve(this.#pump.kit.curveFlowM3s, this.#pump.kit.curveRisePa);
    this.ratedFlowM3s = this.#pump.kit.curveFlowM3s.at(-1)!;
  }

  rise(flowM3s: number, speedRatio: number): { readonly risePa: number; readonly slopePaPerM3s: number } {
    if (!(speedRatio > 0)) return { risePa: speedRatio === 0 ? 0 : NaN, slopePaPerM3s: 0 };
    evaluateRated(this.#curve, Math.max(0, flowM3s) / speedRatio, this.#out);
    return {
      risePa: Number.isFinite(flowM3s) ? speedRatio ** 2 * this.#out[0]! : NaN,
      slopePaPerM3s: speedRatio * this.#out[1]!,
    };
  }

  /** Most that it can give while it adds `risePa`; 0: it cannot add so much. */
  most(risePa: number, speedRatio: number): number {
    let [low, high] = [0, MOST_OF_CURVE * this.ratedFlowM3s * speedRatio];
    if (!(this.rise(0, speedRatio).risePa > risePa)) return 0;
    while (high - low > CLOSE_SHARE * this.ratedFlowM3s) {
      const middle = (low + high) / 2;
      if (this.rise(middle, speedRatio).risePa > risePa) low = middle;
      else high = middle;
    }
    return high;
  }

  /** Gauge pressure at the pump's eye without flow, and what flow takes off it. */
  suction(flowM3s: number, levelM: number): { readonly staticPa: number; readonly lossPa: number } {
    const { source, inlet, elevationM, suctionHose, suctionLengthM, suctionLossFactor } = this.#pump;
    // What another pump brings to its inlet is for that pump's own readings to say.
    if (inlet !== null) return { staticPa: NaN, lossPa: NaN };
    const { elevationM: floorM, mains } = this.#layout.sources.find((candidate) => candidate.id === source)!;
    const flow = Math.max(0, flowM3s);
    const { friction, boreM } = suctionHose;
    const resistance = frictionResistance(friction, boreM, suctionLengthM);
    const exponent = friction.law === 'hazen-williams' ? HAZEN_WILLIAMS_EXPONENT : 2;
    const factor =
      friction.law === 'darcy-weisbach' && flow > 0
        ? darcyFactor(
            reynoldsPerFlow(boreM, WATER_VISCOSITY_M2S) * flow,
            friction.roughnessM / boreM,
            friction.colebrook,
          )
        : 1;
    return {
      staticPa: PA_PER_M * (floorM + levelM - elevationM),
      lossPa:
        (mains === null ? 0 : mainsLoss(mains) * flow ** HAZEN_WILLIAMS_EXPONENT) +
        factor * resistance * flow ** exponent +
        suctionLossFactor * velocityPressure(boreM) * flow ** 2,
    };
  }
}
