/**
 * Pump curve and system curve of one pump, to draw its duty between them.
 *
 * In: layout, which pump, speed over rated, gates and levels as they are, discharge of the other pumps (Pa). Out:
 * points (flow m3/s, rise Pa from suction to discharge gauge). The system curve is the lay solved at one discharge
 * pressure after the other, kit figures, no fault; through a point its flows are stretched so that it passes through
 * what was measured or expected there: a lay that has changed draws more or less at every pressure in about that share.
 */
import type { Layout, Pump } from '../../config/layout/layout.ts';
import { buildNetwork, type Network } from '../../gateway/core/hydraulics/network.ts';
import { evaluateRated } from '../../gateway/core/hydraulics/pump-curve.ts';
import { asRigged } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';

export interface DutyPoint {
  readonly flowM3s: number;
  readonly risePa: number;
}

export interface LayCondition {
  /** As the layout orders them. */
  readonly gateOpening: readonly number[];
  /** Null: as full as it can be. */
  readonly levelM: readonly (number | null)[];
  /** Per pump; null: not known, it runs as rigged. */
  readonly dischargePa: readonly (number | null)[];
}

const STEPS = 20;
/** Shares of the shut-off rise between which the system curve is drawn. */
const LOWEST_SHARE = 0.04;
const HIGHEST_SHARE = 1.1;

export class PumpDuty {
  readonly #pump: Pump;
  readonly #index: number;
  readonly #network: Network;

  constructor(layout: Layout, pump: string) {
    this.#index = layout.pumps.findIndex(({ id }) => id === pump);
    this.#pump = layout.pumps[this.#index]!;
    this.#network = buildNetwork(layout);
  }

  /** Rise at a speed, to the end of the curve. */
  rise(flowM3s: number, speedRatio: number): number {
    const out = new Float64Array(2);
    evaluateRated(this.#network.pumpCurves[this.#index]!, flowM3s / speedRatio, out);
    return speedRatio ** 2 * out[0]!;
  }

  pumpCurve(speedRatio: number): DutyPoint[] {
    if (!(speedRatio > 0)) return [];
    const mostM3s = this.#pump.kit.curveFlowM3s.at(-1)! * speedRatio;
    return Array.from({ length: 25 }, (_, step) => (mostM3s * step) / 24)
      .map((flowM3s) => ({ flowM3s, risePa: this.rise(flowM3s, speedRatio) }))
      .filter(({ risePa }) => risePa >= 0);
  }

  /** Empty where the model has no answer. */
  systemCurve({ gateOpening, levelM, dischargePa }: LayCondition): DutyPoint[] {
    const net = this.#network;
    const settings = asRigged(net);
    gateOpening.forEach((opening, gate) => (settings.gateOpening[gate] = opening));
    levelM.forEach((level, source) => (settings.sourceLevelM[source] = level ?? settings.sourceLevelM[source]!));
    dischargePa.forEach((pressure, pump) => (settings.dischargePa[pump] = pressure ?? NaN));
    const shutOffPa = this.#pump.kit.curveRisePa[0]!;
    let last: ReturnType<typeof solve> | undefined;
    return Array.from(
      { length: STEPS },
      (_, step) => shutOffPa * (LOWEST_SHARE + (HIGHEST_SHARE - LOWEST_SHARE) * (step / (STEPS - 1)) ** 2),
    ).flatMap((outletPa) => {
      settings.dischargePa[this.#index] = outletPa;
      const solution = solve(net, settings, last);
      if (!solution.converged) return [];
      last = solution;
      return [{ flowM3s: solution.pumpFlowM3s[this.#index]!, risePa: outletPa - solution.suctionPa[this.#index]! }];
    });
  }
}

/** Flow on a curve at a rise; null outside it. */
export function flowAt(curve: readonly DutyPoint[], risePa: number): number | null {
  const above = curve.findIndex((point) => point.risePa >= risePa);
  const high = curve[above];
  const low = curve[above - 1];
  if (!high || !low) return null;
  return low.flowM3s + ((high.flowM3s - low.flowM3s) * (risePa - low.risePa)) / (high.risePa - low.risePa);
}

/** The curve with its flows stretched to pass through a point; null: the point lies off it. */
export function through(curve: readonly DutyPoint[], { flowM3s, risePa }: DutyPoint): DutyPoint[] | null {
  const modelled = flowAt(curve, risePa);
  if (modelled === null || !(modelled > 0) || !(flowM3s > 0)) return null;
  return curve.map((point) => ({ flowM3s: (point.flowM3s * flowM3s) / modelled, risePa: point.risePa }));
}
