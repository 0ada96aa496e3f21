/**
 * One structure in one sentence: what it gets and why, how long that lasts, and how long nobody has looked.
 *
 * In: a row of the order of need, names, age of a moment in seconds, what else is told of the site. Out: sentences.
 * Time left is said as likeliest and range, of what still works only.
 */
import type { Alarm } from '../../config/wire/wire.ts';
import type { Need, NeedGroup } from '../state/need.ts';
import { seenAgoWords } from './seen.ts';
import { LINE_STATES } from './states.ts';
import { leftWords, rangeWords } from './time.ts';

const TITLES: Record<Exclude<NeedGroup, 'hazard'>, string> = {
  'fails-next': 'Running, soonest to fail first',
  failed: 'Failed',
  look: 'Longest unchecked',
};

/** 'Hazard to people: portable pump: 8' names where the hazard is, and how many structures hang on it. */
export function needTitle(group: NeedGroup, needs: readonly Need[], labelOf: (id: string) => string): string {
  if (group !== 'hazard') return `${TITLES[group]}: ${needs.length}`;
  const at = new Set(needs.flatMap(({ hazard }) => (hazard ? [whereOf(hazard, labelOf)] : [])));
  return `Hazard to people: ${[...at].join(', ')} (${needs.length})`;
}

function whereOf({ verdict }: Alarm, labelOf: (id: string) => string): string {
  return verdict.subjectKind === 'site' ? 'whole site' : labelOf(verdict.subject);
}

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

function leftClause({ left, works }: Need, labelOf: (id: string) => string): string {
  if (left?.what === 'pressure')
    return (
      `${labelOf(left.of)} under turning pressure in ${leftWords(left.estimate.best)} ` +
      `(${rangeWords(left.estimate)})`
    );
  if (left)
    return (
      `${labelOf(left.of)} ${left.what === 'water' ? 'empty' : 'out of fuel'} in ` +
      `${leftWords(left.estimate.best)} (${rangeWords(left.estimate)})`
    );
  return works ? 'how long it lasts is not known' : '';
}

function lookClause(
  { heads, unseen, oldestSeenMs, troubleMs }: Need,
  sinceS: (atMs: number) => number,
  remembers: boolean,
): string {
  if (heads.length === 0) return '';
  if (!remembers && unseen > 0) return 'who saw its heads turn is not known while the diagnosis is down';
  if (unseen > 0) {
    const turn = unseen === 1 ? 'turns' : 'turn';
    const its = unseen === 1 ? 'its head' : `its ${unseen} heads`;
    const which = unseen === heads.length ? its : `${unseen} of its ${heads.length} heads`;
    return `nobody has said that ${which} ${turn}`;
  }
  return (
    `${heads.length === 1 ? 'its head' : 'all heads'} last confirmed turning ` +
    seenAgoWords(oldestSeenMs!, troubleMs, sinceS)
  );
}
