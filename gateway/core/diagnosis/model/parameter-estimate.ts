/**
 * What is believed of the lay beyond the layout file: one factor per head, hose and pump, one offset per gauge, with
 * their joint covariance. Starts at the kit's tolerances; a baseline narrows it (calibration.ts).
 *
 * Order of parameters: head factors, hose and feeder resistance factors, gauge offsets (SI of the gauge), pump rise
 * factors, suction loss factors. All factors are 1 and all offsets 0 before a baseline.
 */
import type { Layout } from '../../../../config/layout/layout.ts';
import type { Network } from '../../hydraulics/network.ts';
import type { Gauge } from './gauge.ts';

export interface ParameterEstimate {
  readonly heads: number;
  readonly pipes: number;
  readonly gauges: number;
  readonly pumps: number;
  readonly size: number;
  readonly mean: Float64Array;
  /** size x size. */
  readonly covariance: Float64Array;
}

/** Judgement: hose lies up or down from where the layout says; 0.3 m of water, standard deviation. */
export const ELEVATION_SD_PA = 0.3 * 9_806.65;
/** Judgement: half the variance of a kit row is common to all its pieces, bought together and worn together. */
const SHARED_BY_KIT = 0.5;
/** Judgement: strainer, bends and hose of a suction are known to a third. */
const SUCTION_LOSS_SD = 0.35;

export function headAt(index: number): number {
  return index;
}
export function pipeAt(belief: ParameterEstimate, index: number): number {
  return belief.heads + index;
}
export function offsetAt(belief: ParameterEstimate, gauge: number): number {
  return belief.heads + belief.pipes + gauge;
}
export function riseFactorAt(belief: ParameterEstimate, pump: number): number {
  return belief.heads + belief.pipes + belief.gauges + pump;
}
export function suctionFactorAt(belief: ParameterEstimate, pump: number): number {
  return belief.heads + belief.pipes + belief.gauges + belief.pumps + pump;
}

/** The belief that the kit's tolerances alone support. */
export function kitBelief(layout: Layout, network: Network, gauges: readonly Gauge[]): ParameterEstimate {
  const heads = layout.heads.length;
  const pipes = layout.hoses.length + heads;
  const pumps = layout.pumps.length;
  const size = heads + pipes + gauges.length + 2 * pumps;
  const belief: ParameterEstimate = {
    heads,
    pipes,
    gauges: gauges.length,
    pumps,
    size,
    mean: new Float64Array(size),
    covariance: new Float64Array(size * size),
  };
  const set = (index: number, mean: number, sd: number): void => {
    belief.mean[index] = mean;
    belief.covariance[index * size + index] = sd * sd;
  };
  const together = (parts: readonly { readonly kit: object; readonly at: number }[]): void => {
    for (const one of parts)
      for (const other of parts) {
        if (one.at === other.at || one.kit !== other.kit) continue;
        const own = (at: number): number => Math.sqrt(belief.covariance[at * size + at]!);
        belief.covariance[one.at * size + other.at] = SHARED_BY_KIT * own(one.at) * own(other.at);
      }
  };
  layout.heads.forEach((head, index) => set(headAt(index), 1, head.kit.kSd));
  for (const hose of layout.hoses) {
    set(pipeAt(belief, network.pipeOfHose.get(hose.id)!), 1, 1.5 * hose.kit.resistanceSd);
  }
  for (const head of layout.heads) {
    set(pipeAt(belief, network.pipeOfFeeder.get(head.id)!), 1, 1.5 * head.feeder.resistanceSd);
  }
  together(layout.heads.map((head, index) => ({ kit: head.kit, at: headAt(index) })));
  together([
    ...layout.hoses.map((hose) => ({ kit: hose.kit, at: pipeAt(belief, network.pipeOfHose.get(hose.id)!) })),
    ...layout.heads.map((head) => ({ kit: head.feeder, at: pipeAt(belief, network.pipeOfFeeder.get(head.id)!) })),
  ]);
  gauges.forEach((gauge, index) => {
    const lying = gauge.kind === 'end' ? ELEVATION_SD_PA : 0;
    set(offsetAt(belief, index), 0, Math.hypot(gauge.sensor.offsetSd, lying));
  });
  layout.pumps.forEach((pump, index) => {
    set(riseFactorAt(belief, index), 1, pump.kit.curveSd);
    set(suctionFactorAt(belief, index), 1, SUCTION_LOSS_SD);
  });
  return belief;
}
