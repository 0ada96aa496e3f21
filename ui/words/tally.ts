/**
 * For how long a structure was dry, without turning pressure, low or unknown: the spells of its water tally in words.
 */
import type { StructureTally } from '../../config/wire/wire.ts';
import { durationWords } from './time.ts';

export function tallyWords({ dryS, lowS = 0, shortS, unknownS }: StructureTally): string {
  return [
    { seconds: dryS, words: 'dry' },
    { seconds: lowS, words: 'no head with turning pressure' },
    { seconds: shortS, words: 'some heads low or dry' },
    { seconds: unknownS, words: 'unknown' },
  ]
    .filter(({ seconds }) => seconds > 0)
    .map(({ seconds, words }) => `${words} for ${durationWords(seconds)}`)
    .join(', ');
}
