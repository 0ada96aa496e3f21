/**
 * What people found at an inspection, as evidence with an error rate of its own.
 *
 * In: inspections, and a set of causes believed at places. Out: log likelihood of the inspections under that set. Who
 * looks at the right place names what is wrong there in SEEN of cases; some troubles are easily overlooked; at a sound
 * place something is reported now and then. Judgement throughout: no published error rates of such inspections were
 * found.
 */
import { type Cause, CAUSES, type Sight, SIGHTS } from '../../../../config/causes/causes.ts';
import type { Hypothesis } from './hypothesis.ts';

/** What somebody found at one place. */
export interface Inspection {
  readonly at: string;
  readonly found: Sight;
  readonly atMs: number;
}

const SEEN = 0.85;
/** Named something else that is really wrong there. */
const MISNAMED = 0.03;
/** At a sound place, per thing that could be 'seen'. */
const IMAGINED = 0.004;
const SIGHTS_WRONG = SIGHTS.length - 1;
/** Judgement: of what is not looked for there. */
const OVERLOOKED_ELSE = 0.5;

export function lookScore(looks: readonly Inspection[], set: readonly { readonly hypothesis: Hypothesis }[]): number {
  return looks.reduce((sum, look) => {
    const there = set.find(({ hypothesis }) => hypothesis.place === look.at)?.hypothesis.cause;
    return sum + Math.log(there === undefined ? atSound(look.found) : atTrouble(look.found, there));
  }, 0);
}

const atSound = (found: Sight): number => (found === 'nothing-wrong' ? 1 - SIGHTS_WRONG * IMAGINED : IMAGINED);

function atTrouble(found: Sight, cause: Cause): number {
  if (found === 'nothing-wrong') return CAUSES[cause].sight?.overlooked ?? OVERLOOKED_ELSE;
  return found === cause ? SEEN : MISNAMED;
}
