/**
 * One structure in one sentence: what it gets and why, how long that lasts, and how long nobody has looked.
 *
 * In: a row of the order of need, names, age of a moment in seconds. Time left is said as likeliest and range.
 */
import type { Need, NeedGroup } from '../state/need.ts';
import { LINE_STATES } from './states.ts';
import { durationWords, leftWords, rangeWords } from './time.ts';

export const NEED_TITLES: Record<NeedGroup, string> = {
  hazard: 'Hazard to people there',
  'fails-next': 'Fails next',
  failed: 'Has failed',
  look: 'Longest without a look',
};

export function needSentence(
  need: Need,
  labelOf: (id: string) => string,
  sinceS: (atMs: number) => number,
  remembers: boolean,
): string {
  return (
    [
      ...(need.hazard ? [need.hazard.verdict.headline] : []),
      stateClause(need),
      leftClause(need, labelOf),
      lookClause(need, sinceS, remembers),
    ]
      .filter((clause) => clause !== '')
      .join('; ') + '.'
  );
}

function stateClause({ now }: Need): string {
  return now ? `${LINE_STATES[now.state].word}, ${now.why}` : LINE_STATES.unknown.word;
}

function leftClause({ left, now }: Need, labelOf: (id: string) => string): string {
  if (left?.what === 'pressure')
    return `${labelOf(left.of)} below the pressure that turns it in ${leftWords(left.estimate.best)} (${rangeWords(left.estimate)})`;
  if (left)
    return `${labelOf(left.of)} ${left.what === 'water' ? 'empty' : 'out of fuel'} in ${leftWords(left.estimate.best)} (${rangeWords(left.estimate)})`;
  return now?.state === 'as-modelled' || now?.state === 'running-short' ? 'how long it lasts is not known' : '';
}

function lookClause(
  { heads, unseen, oldestSeenMs }: Need,
  sinceS: (atMs: number) => number,
  remembers: boolean,
): string {
  if (heads.length === 0) return '';
  if (!remembers && unseen > 0) return 'who saw its heads turn is not known while the diagnosis is down';
  if (unseen > 0)
    return `nobody has said that ${unseen === heads.length ? (unseen === 1 ? 'its head turns' : `its ${unseen} heads turn`) : `${unseen} of its ${heads.length} heads ${unseen === 1 ? 'turns' : 'turn'}`}`;
  return `${heads.length === 1 ? 'its head' : 'all heads'} seen turning, ${heads.length === 1 ? '' : 'the first '}${durationWords(sinceS(oldestSeenMs!))} ago`;
}
