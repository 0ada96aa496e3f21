/**
 * Whether values stepped at some moment and stand since, or fall or rise on.
 *
 * In: times (ms) and values, oldest first. Out: sums of squares of the least-squares fit of a shape that stands until a
 * moment and then moves by a share of its size (any sign), and the verdict of the better one, if it is clear.
 */
import { mean } from '../../statistics/gaussian.ts';

export interface Points {
  readonly timesMs: readonly number[];
  readonly values: readonly number[];
}

/** Of its whole move, what is done so long after its start. */
export type Share = (ms: number) => number;

export type Shape = 'grows' | 'stepped';

export function misfit({ timesMs, values }: Points, fromMs: number, share: Share): number {
  const moved = timesMs.map((atMs) => share(Math.max(0, atMs - fromMs)));
  const [meanMoved, meanValue] = [mean(moved), mean(values)];
  let [own, both, all] = [0, 0, 0];
  values.forEach((value, index) => {
    own += (moved[index]! - meanMoved) ** 2;
    both += (moved[index]! - meanMoved) * (value - meanValue);
    all += (value - meanValue) ** 2;
  });
  return own > 0 ? all - both ** 2 / own : all;
}

/** Best over all moments of start. */
export function leastMisfit(points: Points, startsMs: readonly number[], shares: readonly Share[]): number {
  return Math.min(...startsMs.flatMap((fromMs) => shares.map((share) => misfit(points, fromMs, share))));
}

/**
 * Judgements: readings that show a shape at all; a step takes up to three seconds to be felt; odds of a thousand to one
 * are clear.
 */
const LEAST_READINGS = 12;
const STEPS: readonly Share[] = [(ms) => (ms > 0 ? 1 : 0), (ms) => Math.min(1, ms / 3_000)];
const EVERY_MS = 2_000;
const CLEAR = 2 * Math.log(1_000);
/** A growth that began this moment is no growth yet. */
const GROWS_MS = 8_000;

/** Null: neither is clear. */
export function shapeOf(points: Points, nowMs: number): Shape | null {
  const { timesMs } = points;
  if (timesMs.length < LEAST_READINGS) return null;
  const startsMs = Array.from(
    { length: Math.floor((nowMs - timesMs[0]!) / EVERY_MS) },
    (_, step) => timesMs[0]! + EVERY_MS * step,
  );
  const grows = leastMisfit(
    points,
    startsMs.filter((fromMs) => fromMs <= nowMs - GROWS_MS),
    [(ms) => ms],
  );
  const stepped = leastMisfit(points, startsMs, STEPS);
  const clear = (CLEAR * Math.min(grows, stepped)) / timesMs.length;
  return stepped - grows > clear ? 'grows' : grows - stepped > clear ? 'stepped' : null;
}
