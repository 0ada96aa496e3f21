/** The gateway's model of a lay with the kit believed as in its catalogue, and what its pump reads at a moment. */
import type { Layout } from '../../config/layout/layout.ts';
import { Expectation } from '../../gateway/core/diagnosis/model/expectation.ts';
import { gaugesOf, type Boundary } from '../../gateway/core/diagnosis/model/gauge.ts';
import { kitBelief } from '../../gateway/core/diagnosis/model/parameter-estimate.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';

export function modelledLay(layout: Layout) {
  const network = buildNetwork(layout);
  const gauges = gaugesOf(layout, network);
  const expectation = new Expectation(layout, network, gauges);
  return { layout, network, gauges, expectation, belief: kitBelief(layout, network, gauges) };
}

/** Of a lay with one pump, gates as rigged; what is not given is not heard. */
export function boundaryOf(
  layout: Layout,
  told: Partial<Record<Exclude<keyof Boundary, 'gateOpening'>, number>>,
): Boundary {
  return {
    dischargePa: Float64Array.of(told.dischargePa ?? NaN),
    suctionPa: Float64Array.of(told.suctionPa ?? NaN),
    flowM3s: Float64Array.of(told.flowM3s ?? NaN),
    speedRatio: Float64Array.of(told.speedRatio ?? NaN),
    levelM: Float64Array.of(told.levelM ?? NaN),
    gateOpening: Float64Array.from(layout.gates, ({ opening }) => opening),
  };
}
