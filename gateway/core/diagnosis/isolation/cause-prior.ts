/**
 * How likely a cause is before its readings are looked at, given what is known around it.
 *
 * In: a hypothesis and what people, shocks, shapes and the last judgement said. Out: log of the prior odds.
 */
import { keyOf, type Hypothesis } from '../causes/hypothesis.ts';
import type { IsolationEvidence } from './isolation-evidence.ts';

/** Prior odds of a cause of weight 1 at one place, for one segment. Judgement. */
const LOG_PRIOR = Math.log(1e-4);
/** Judgement: a light head that took more than it stands comes off thirty times as often. */
const LOG_HURT = Math.log(30);
/**
 * Judgement: a leak of air or a strainer gets worse while one watches, nine times in ten; wear does not, and fouling
 * comes at once.
 */
const LOG_GROWS = Math.log(10);
/**
 * Judgement: what stood a moment ago mostly still does; evidence that got weaker does not clear it, only evidence
 * against it. Without any gain it goes all the same.
 */
const LOG_STOOD = Math.log(100);

/**
 * Log of the prior odds: what a shock may have hurt is likelier to come off; what grows within a minute is air or a
 * strainer sooner than wear.
 */
export function logPrior(
  { hurt, shapes, stood }: Pick<IsolationEvidence, 'hurt' | 'shapes' | 'stood'>,
  { cause, place, subject, weight, effect }: Hypothesis,
): number {
  const shape = cause === 'suction-trouble' && effect.kind === 'shift' ? shapes.get(effect.moves[0]!.gauge) : undefined;
  // A strainer may well be blocked at once, by a leaf; its one gauge tells it from wear anyhow.
  const timely =
    shape === 'grows'
      ? LOG_GROWS
      : shape === 'stepped' && effect.kind === 'shift' && effect.moves.length > 1
        ? -LOG_GROWS
        : 0;
  return (
    LOG_PRIOR +
    Math.log(weight) +
    timely +
    (cause === 'head-off' && hurt.has(place) ? LOG_HURT : 0) +
    (stood.has(keyOf(cause, subject)) ? LOG_STOOD : 0)
  );
}
