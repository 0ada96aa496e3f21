/**
 * Pressure rise of a centrifugal pump against flow, at any speed.
 *
 * In: points of the head curve at rated speed (m3/s, Pa), flow m3/s, speed as a ratio to rated. Out: rise Pa and its
 * slope. Three points that begin at zero flow are joined by the power law A - B q^C (EPANET 2.2 User Manual, ch. 3);
 * any other set by a monotone cubic through every point (Fritsch & Carlson 1980). Speed follows the affinity laws,
 * rise = s^2 f(q/s), good to a few per cent down to about half speed. Past the last point the power law
 * goes on, any other curve falls with its end slope: an extrapolation, only there so that a solution exists.
 */
import { requireFinite, requireNotNegative, requirePositive } from './invariant.ts';

export interface PumpCurve {
  readonly flowM3s: Float64Array;
  readonly risePa: Float64Array;
  /** Pa per m3/s at each point. */
  readonly slope: Float64Array;
  /** Set where the power law rules. */
  readonly power: { readonly coefficient: number; readonly exponent: number } | null;
}

/**
 * Judgement: share of the shut-off rise that every curve loses up to its last point, so that a flat one fixes a flow.
 */
const LEAST_TILT = 1e-7;

export function fitPumpCurve(flowM3s: readonly number[], risePa: readonly number[]): PumpCurve {
  const count = flowM3s.length;
  if (count < 2 || risePa.length !== count) throw new RangeError('a pump curve needs two points or more, in pairs');
  requireNotNegative('fitPumpCurve', 'first flow', flowM3s[0]!);
  requireFinite('fitPumpCurve', 'shut-off rise', risePa[0]!);
  for (let i = 1; i < count; i++) {
    if (!(flowM3s[i]! > flowM3s[i - 1]!)) throw new RangeError('flow must grow from point to point of a pump curve');
    if (!(risePa[i]! <= risePa[i - 1]!)) throw new RangeError('pressure rise must not grow with flow');
  }
  const power = count === 3 && flowM3s[0] === 0 ? powerLaw(flowM3s, risePa) : null;
  const slope = power
    ? Float64Array.from(flowM3s, (q) => -power.coefficient * power.exponent * q ** (power.exponent - 1))
    : monotoneSlopes(flowM3s, risePa);
  return { flowM3s: Float64Array.from(flowM3s), risePa: Float64Array.from(risePa), slope, power };
}

/** Somewhere on the curve, to start from. */
export function middleFlow(curve: PumpCurve): number {
  return 0.5 * curve.flowM3s.at(-1)!;
}

/** Null where the points do not bend downwards (C < 1 would be infinitely steep at shut-off). */
function powerLaw(flow: readonly number[], rise: readonly number[]): PumpCurve['power'] {
  const fall1 = rise[0]! - rise[1]!;
  const fall2 = rise[0]! - rise[2]!;
  if (!(fall1 > 0 && fall2 > fall1)) return null;
  const exponent = Math.log(fall2 / fall1) / Math.log(flow[2]! / flow[1]!);
  return exponent >= 1 ? { exponent, coefficient: fall1 / flow[1]! ** exponent } : null;
}

function monotoneSlopes(flow: readonly number[], rise: readonly number[]): Float64Array {
  const last = flow.length - 1;
  const width = flow.slice(1).map((q, i) => q - flow[i]!);
  const secant = width.map((w, i) => (rise[i + 1]! - rise[i]!) / w);
  const slope = new Float64Array(last + 1);
  slope[0] = endSlope(width[0]!, width[1], secant[0]!, secant[1]);
  slope[last] = endSlope(width[last - 1]!, width[last - 2], secant[last - 1]!, secant[last - 2]);
  for (let i = 1; i < last; i++) {
    const before = secant[i - 1]!;
    const after = secant[i]!;
    if (before * after <= 0) continue;
    const w1 = 2 * width[i]! + width[i - 1]!;
    const w2 = width[i]! + 2 * width[i - 1]!;
    slope[i] = (w1 + w2) / (w1 / before + w2 / after);
  }
  return slope;
}

function endSlope(
  width: number,
  nextWidth: number | undefined,
  secant: number,
  nextSecant: number | undefined,
): number {
  if (nextWidth === undefined || nextSecant === undefined) return secant;
  const slope = ((2 * width + nextWidth) * secant - width * nextSecant) / (width + nextWidth);
  return Math.max(Math.min(slope, 0), 3 * secant);
}

/** Rise and slope at rated speed, written to `out[0]`, `out[1]`: the solver calls this in its inner loop. */
export function evaluateRated(curve: PumpCurve, flowM3s: number, out: Float64Array): void {
  const { flowM3s: flow, risePa: rise, slope } = curve;
  const last = flow.length - 1;
  const tilt = (LEAST_TILT * rise[0]!) / flow[last]!;
  if (flowM3s <= flow[0]!) {
    out[0] = rise[0]! + slope[0]! * (flowM3s - flow[0]!);
    out[1] = slope[0]!;
  } else if (curve.power) {
    const { coefficient, exponent } = curve.power;
    const steep = coefficient * flowM3s ** (exponent - 1);
    out[0] = rise[0]! - steep * flowM3s;
    out[1] = -exponent * steep;
  } else if (flowM3s >= flow[last]!) {
    const end = Math.min(slope[last]!, -rise[0]! / flow[last]!);
    out[0] = rise[last]! + end * (flowM3s - flow[last]!);
    out[1] = end;
  } else {
    let i = 0;
    while (flowM3s > flow[i + 1]!) i++;
    hermite(flowM3s - flow[i]!, flow[i + 1]! - flow[i]!, rise[i]!, rise[i + 1]!, slope[i]!, slope[i + 1]!, out);
  }
  out[0]! -= tilt * flowM3s;
  out[1]! -= tilt;
}

/** Speed, as a ratio to rated, at which the pump lifts this flow by this much: s^2 f(q/s) = rise. */
export function speedForDuty(curve: PumpCurve, flowM3s: number, risePa: number): number {
  requireFinite('speedForDuty', 'flow', flowM3s);
  requireFinite('speedForDuty', 'rise', risePa);
  requirePositive('speedForDuty', 'shut-off rise', curve.risePa[0]!);
  const wanted = Math.max(risePa, 0);
  const out = new Float64Array(2);
  const enough = (speed: number): boolean => {
    evaluateRated(curve, flowM3s / speed, out);
    return speed * speed * out[0]! >= wanted;
  };
  // At shut-off the pump gives most: it cannot do with less speed than that.
  let low = Math.max(Math.sqrt(wanted / curve.risePa[0]!), 1e-6);
  let high = low;
  while (!enough(high)) high *= 2;
  while (high - low > 1e-12 * high) {
    const middle = (low + high) / 2;
    if (middle === low || middle === high) break;
    if (enough(middle)) high = middle;
    else low = middle;
  }
  return high;
}

function hermite(x: number, width: number, y0: number, y1: number, m0: number, m1: number, out: Float64Array): void {
  const t = x / width;
  const bend = 3 * (y1 - y0) - width * (2 * m0 + m1);
  const twist = width * (m0 + m1) - 2 * (y1 - y0);
  out[0] = y0 + t * (width * m0 + t * (bend + t * twist));
  out[1] = (width * m0 + t * (2 * bend + 3 * t * twist)) / width;
}
