/**
 * What stands, for the banner over every screen: the worst first, acknowledged or not; beside an acknowledged one the
 * worst that nobody has acknowledged; what is shelved or suppressed and is as bad. What has cleared is counted apart.
 *
 * In: picture, names for times and modes. Out: rows and counts in words. Of two of equal rank the one that nobody has
 * acknowledged comes first, then the one that stands longest. A hazard to people keeps its row, with its warning, until
 * somebody has acknowledged that it is over.
 */
import { DEADHEAD_WARNING } from '../../config/safety.ts';
import type { Alarm, AsideAlarm, Picture, Priority } from '../../config/wire/wire.ts';
import { modeName } from './aside.ts';
import type { StateWords } from './marks.ts';
import { PRIORITIES } from './states.ts';

interface BannerRow {
  readonly id: string;
  readonly priority: Priority;
  readonly mark: StateWords;
  readonly headline: string;
  /** Why this priority; empty: not told. */
  readonly reason: string;
  /** Who has acknowledged it, or that nobody has; since when it stands. */
  readonly told: string;
  /** What keeps people from harm; null: nothing near. */
  readonly warning: string | null;
  readonly open: boolean;
}

export interface Banner {
  readonly rows: readonly BannerRow[];
  /** What the rows do not name, in words; empty: nothing more. */
  readonly more: string;
}

const RANK: readonly Priority[] = ['people', 'high', 'medium', 'low'];
const rank = ({ priority }: Pick<Alarm, 'priority'>): number => RANK.indexOf(priority);
const isOpen = ({ state }: Alarm): boolean => state === 'unacknowledged';

function worstFirst<One extends Alarm>(alarms: readonly One[]): One[] {
  return [...alarms].sort(
    (a, b) => rank(a) - rank(b) || Number(isOpen(b)) - Number(isOpen(a)) || a.verdict.sinceMs - b.verdict.sinceMs,
  );
}

export const standingOf = <One extends Alarm>(alarms: readonly One[]): One[] =>
  alarms.filter(({ clearedMs }) => clearedMs === null);

export function bannerOf({ alarms, setAside }: Picture, time: (atMs: number) => string): Banner {
  const standing = worstFirst(standingOf(alarms));
  const hazards = worstFirst(alarms.filter(({ priority }) => priority === 'people'));
  const aside = worstFirst(standingOf(setAside));
  const [worst] = standing;
  const shown: (Alarm | AsideAlarm)[] = [...hazards];
  const add = (one: Alarm | undefined): void => void (one && !shown.includes(one) && shown.push(one));
  add(worst);
  if (shown.every((one) => !isOpen(one))) add(standing.find(isOpen));
  // What somebody has set aside stands all the same.
  const [worstAside] = aside;
  if (worstAside && shown.every((one) => rank(one) > rank(worstAside))) shown.unshift(worstAside);
  const named = new Set(shown.map(({ verdict }) => verdict.id));
  const cleared = alarms.filter(({ clearedMs, verdict }) => clearedMs !== null && !named.has(verdict.id)).length;
  const others = standing.filter(({ verdict }) => !named.has(verdict.id));
  const open = others.filter(isOpen).length;
  const left = aside.filter(({ verdict }) => !named.has(verdict.id));
  return {
    rows: shown.map((one) => rowOf(one, time)),
    more: [
      others.length > 0 ? `+${others.length} more standing${open > 0 ? `, ${open} not acknowledged` : ''}` : '',
      left.length > 0 ? `${left.length} set aside` : '',
      cleared > 0 ? `${cleared} cleared, not acknowledged` : '',
    ]
      .filter((words) => words !== '')
      .join('; '),
  };
}

function rowOf(alarm: Alarm | AsideAlarm, time: (atMs: number) => string): BannerRow {
  const { verdict, priority, reason } = alarm;
  return {
    id: verdict.id,
    priority,
    mark: PRIORITIES[priority],
    headline: verdict.headline,
    reason,
    told: toldOf(alarm, time),
    warning: priority === 'people' ? (verdict.warning ?? DEADHEAD_WARNING) : verdict.warning,
    open: isOpen(alarm),
  };
}

function toldOf(alarm: Alarm | AsideAlarm, time: (atMs: number) => string): string {
  if (alarm.clearedMs !== null) return `cleared at ${time(alarm.clearedMs)}, not acknowledged`;
  const since = `standing since ${time(alarm.verdict.sinceMs)}`;
  if ('aside' in alarm)
    return alarm.state === 'shelved'
      ? `shelved by ${alarm.aside.by} until ${time(alarm.aside.untilMs)}, ${since}`
      : `suppressed while '${modeName(alarm.aside.why)}' lasts, ${since}`;
  return `${isOpen(alarm) ? 'not acknowledged' : `acknowledged by ${alarm.acknowledgedBy ?? 'somebody'}`}, ${since}`;
}
