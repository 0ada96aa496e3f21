/**
 * How far a lay is from a baseline: how long its pumps have held still, and must with gauges as slow as these.
 *
 * In: whole seconds held and needed. Out: one sentence.
 */
import type { Picture } from '../../config/wire/wire.ts';

/** What gauges read once a second need. */
const QUICK_S = 25;

export function steadyWords({ heldS, neededS }: NonNullable<Picture['steady']>): string {
  const slow = neededS > QUICK_S ? ' That long because gauges here are read seldom.' : '';
  return heldS >= neededS
    ? 'The pumps have held still long enough for a baseline.'
    : `The pumps have held still for ${heldS} of ${neededS} s.${slow}`;
}
