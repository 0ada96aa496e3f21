/**
 * How long ago a head was last seen turning. What was seen before a trouble tells nothing of now, and that is said.
 *
 * In: when it was seen and since when a trouble stands that is about it, ms (null: none does); age of a moment, s.
 */
import { durationWords } from './time.ts';

/** `49 min ago, before this trouble`. */
export function seenAgoWords(seenMs: number, troubleMs: number | null, sinceS: (atMs: number) => number): string {
  const before = troubleMs !== null && seenMs < troubleMs ? ', before this trouble' : '';
  return `${durationWords(sinceS(seenMs))} ago${before}`;
}
