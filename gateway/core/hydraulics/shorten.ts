/**
 * Shortens a Newton step that overshoots, by false position on the slope of the content along it.
 *
 * In: an assembly with a full step just taken; flows m3/s; slope of the content at the beginning of the step and at its
 * end, W. Out: flows and losses on the way back, and the linear system there.
 */
import type { Assembly } from './assembly.ts';
import { addAll, evaluate } from './linearise.ts';

const MOST_SHORTENINGS = 30;

/**
 * Goes back along the step until the content no longer rises steeply there; the linear system is then that of where it
 * ends.
 */
export function shorten(
  net: Assembly,
  wet: Uint8Array,
  flow: Float64Array,
  fall: number,
  rise: number,
  free: boolean,
): void {
  const { active, activeCount, change, drop, loss } = net.scratch;
  let low = 0;
  let lowSlope = fall;
  let high = 1;
  let highSlope = rise;
  let share = 1;
  for (let i = 0; i < MOST_SHORTENINGS && highSlope > -0.5 * fall; i++) {
    const guess = lowSlope / (lowSlope - highSlope);
    const next = low + (high - low) * Math.min(Math.max(guess, 0.1), 0.9);
    let slope = 0;
    for (let n = 0; n < activeCount; n++) {
      const k = active[n]!;
      flow[k]! += (next - share) * change[k]!;
      evaluate(net, k, flow);
      if (!(free && flow[k]! < 0 && net.oneWay[k] === 1)) slope += (loss[k]! - drop[k]!) * change[k]!;
    }
    share = next;
    if (Math.abs(slope) <= -0.5 * fall) break;
    if (slope < 0) {
      low = next;
      lowSlope = slope;
    } else {
      high = next;
      highSlope = slope;
    }
  }
  addAll(net, wet, flow);
}
