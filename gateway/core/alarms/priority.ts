/**
 * How much an alarm matters: by what its trouble does and by the time that is left to do something about it, and by
 * nothing else.
 *
 * In: cause, and what it does (null: nobody can know it now). Out: priority and the reason in words, as every screen
 * shows it. ISA-18.2 / IEC 62682 ask for a rationalised priority, severity of the consequence against time to respond;
 * that way of putting it is from memory of public summaries, the standards themselves were not read. The steps are
 * ours: Judgement throughout. A hazard to people is 'people' whatever else it does.
 */
import { CAUSES, type Cause } from '../../../config/causes/causes.ts';
import { aboutWords } from '../../../config/durations.ts';
import type { Priority } from '../../../config/causes/row.ts';
import type { Consequence } from '../diagnosis/states/consequence.ts';

export type Severity = 'severe' | 'major' | 'minor';
export type Respond = 'now' | 'soon' | 'later';

export interface Rated {
  readonly priority: Priority;
  readonly reason: string;
}

/** The table: what it does, by the time left to do something about it. */
export const PRIORITY_TABLE: Readonly<Record<Severity, Readonly<Record<Respond, Priority>>>> = {
  severe: { now: 'high', soon: 'medium', later: 'low' },
  major: { now: 'medium', soon: 'low', later: 'low' },
  minor: { now: 'low', soon: 'low', later: 'low' },
};

/** Severe: a quarter of what the structures are worth, half of the structures touched, or a first one lost whole. */
const SEVERE_WORTH = 0.25;
const SEVERE_STRUCTURES = 0.5;
const FIRST_PRIORITY = 2;
/** Major: a tenth of the worth, two structures touched, one lost whole that is not among the last. */
const MAJOR_WORTH = 0.1;
const MAJOR_STRUCTURES = 2;
const LAST_PRIORITY = 7;
/** Major, too: half of the site unseen. */
const MAJOR_UNSEEN = 0.5;
/** Time is short when less is left than the response takes, and runs when less than four times that is left. */
const SOON_RESPONSES = 4;

const UNKNOWN = 'what it does is not known';

/** Whether the reason says what it did when that was known. */
export const isKnown = ({ reason }: Rated): boolean => reason !== UNKNOWN;

export function rate(cause: Cause, does: Consequence | null): Rated {
  if (CAUSES[cause].hazard) return { priority: 'people', reason: 'it can hurt whoever is near' };
  if (!does) return { priority: CAUSES[cause].whileUnknown, reason: UNKNOWN };
  const severity = severityOf(cause, does);
  return { priority: PRIORITY_TABLE[severity][respondIn(does)], reason: reasonOf(cause, does) };
}

function severityOf(cause: Cause, does: Consequence): Severity {
  const { structures, allStructures, worth, unseen, heads } = does;
  const whole = structures.filter(({ lost, heads: own }) => lost === own);
  const severe =
    worth >= SEVERE_WORTH ||
    structures.length >= Math.max(MAJOR_STRUCTURES, SEVERE_STRUCTURES * allStructures) ||
    whole.some(({ priority }) => priority <= FIRST_PRIORITY);
  if (severe) return 'severe';
  const major =
    worth >= MAJOR_WORTH ||
    structures.length >= MAJOR_STRUCTURES ||
    whole.some(({ priority }) => priority < LAST_PRIORITY) ||
    unseen >= MAJOR_UNSEEN * heads ||
    // What nobody can explain may be more than it seems.
    cause === 'unexplained';
  return major ? 'major' : 'minor';
}

/** What is under way, or comes as it always did, leaves more time than the figure says. */
function respondIn({ inS, refill }: Consequence): Respond {
  if (!inS || !refill) return 'now';
  if (refill.filling || refill.usual) return 'soon';
  if (inS.best < refill.takesS) return 'now';
  return inS.best < SOON_RESPONSES * refill.takesS ? 'soon' : 'later';
}

function reasonOf(cause: Cause, does: Consequence): string {
  const { structures, allStructures, lost, heads, unseen } = does;
  if (unseen > 0) return `${unseen} of ${heads} heads cannot be judged`;
  if (lost === 0) return cause === 'unexplained' ? 'no head known to be low, no cause known' : 'no head is lost by it';
  const whole = structures.filter((one) => one.lost === one.heads).length;
  const what =
    structures.length === 1
      ? `${structures[0]!.label} ${whole === 1 ? 'lost' : `short, ${lost} of its ${structures[0]!.heads} heads`}`
      : whole === structures.length
        ? `${whole} of ${allStructures} structures lost`
        : `${structures.length} of ${allStructures} structures short${whole > 0 ? `, ${whole} of them lost` : ''}`;
  return `${what}, ${whenOf(does)}`;
}

function whenOf({ inS, refill }: Consequence): string {
  if (!inS || !refill) return 'now';
  const left = `in ${aboutWords(inS.best)}`;
  if (refill.filling) return `${left} if the filling stops`;
  if (refill.usual) return `${left} unless it is refilled as before`;
  return `${left}; a refill takes ${aboutWords(refill.takesS)}`;
}
