/**
 * The most that each pump can give at the discharge pressure that is measured there.
 *
 * In: what is believed of the lay and the measured boundary. Out: m3/s per pump; Infinity where nothing limits it (a
 * booster, a pump that is not heard, a main that brings more pressure than stands at the outlet). By its curve, raised
 * by what the curve may be better than its sheet, at the speed that is heard or else the greatest plausible one.
 * Whatever is said of the water that leaves a lay must keep within it. Limit: past the last point of its curve a pump
 * is extrapolated.
 */
import { GREATEST_SPEED } from '../../hydraulics/governor.ts';
import { offsetAt, riseFactorAt, type ParameterEstimate } from './parameter-estimate.ts';
import type { Expectation } from './expectation.ts';
import type { Boundary } from './gauge.ts';

/** Judgement: twice what a curve and a zero are known to; a speed that is heard is good to a fiftieth. */
const SURE_SD = 2;
const SPEED_SHARE = 0.02;

export function mostFlowM3s(expectation: Expectation, belief: ParameterEstimate, boundary: Boundary): Float64Array {
  const { layout, gauges, network, pumpSides } = expectation;
  const sd = (at: number): number => Math.sqrt(belief.covariance[at * belief.size + at]!);
  return Float64Array.from(layout.pumps, (pump, index) => {
    const dischargePa = boundary.dischargePa[index]!;
    if (pump.inlet !== null || !Number.isFinite(dischargePa)) return Infinity;
    const gauge = gauges.findIndex(({ kind, pump: own }) => kind === 'rise' && own === index);
    const offset = gauge < 0 ? 0 : belief.mean[offsetAt(belief, gauge)]! + SURE_SD * sd(offsetAt(belief, gauge));
    const heardPa = boundary.suctionPa[index]!;
    const levelM = boundary.levelM[network.sourceIndex.get(pump.source)!]!;
    const suctionPa = Number.isFinite(heardPa) ? heardPa : pumpSides[index]!.suction(0, levelM).staticPa;
    const factor = belief.mean[riseFactorAt(belief, index)]! + SURE_SD * sd(riseFactorAt(belief, index));
    const ratio = boundary.speedRatio[index]!;
    const speed = Number.isFinite(ratio) ? (1 + SPEED_SHARE) * ratio : Math.max(GREATEST_SPEED, pump.speed);
    const risePa = (dischargePa - offset - suctionPa) / factor;
    return risePa > 0 ? pumpSides[index]!.most(risePa, speed) : Infinity;
  });
}
