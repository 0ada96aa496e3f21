/**
 * The lists of alarms as they are shown: those that ask for somebody, and those set aside.
 *
 * In: alarms with all that is known of them, the mode that is declared. Out: both lists in order of need. A shelved or
 * suppressed alarm is on the second list alone.
 */
import type { Alarm, AsideAlarm, Picture } from '../../../config/wire/wire.ts';
import { isAside, rankOf, type AlarmRecord } from './alarm-record.ts';

/** Worst first: standing before returned, then priority, then oldest. */
export function annunciated(entries: readonly AlarmRecord[]): Alarm[] {
  const alarms = entries
    .filter((entry) => entry.raisedMs !== null && !isAside(entry))
    .map((entry) =>
      alarmOf(
        entry,
        entry.clearedMs !== null
          ? 'returned-unacknowledged'
          : entry.acknowledgedBy === null
            ? 'unacknowledged'
            : 'acknowledged',
      ),
    );
  const rank = (alarm: Alarm): number => (alarm.clearedMs === null ? 0 : 10) + rankOf(alarm.priority);
  return alarms.sort((a, b) => rank(a) - rank(b) || a.raisedMs - b.raisedMs || (a.verdict.id < b.verdict.id ? -1 : 1));
}

/** First to come back first. */
export function setAside(entries: readonly AlarmRecord[], mode: Picture['mode']): AsideAlarm[] {
  return entries
    .flatMap((entry): AsideAlarm[] => {
      if (entry.raisedMs === null) return [];
      if (entry.shelf)
        return [
          {
            ...alarmOf(entry, 'shelved'),
            aside: { by: entry.shelf.by, why: entry.shelf.why, untilMs: entry.shelf.untilMs },
          },
        ];
      return entry.held && mode
        ? [{ ...alarmOf(entry, 'suppressed'), aside: { by: mode.by, why: mode.name, untilMs: mode.untilMs } }]
        : [];
    })
    .sort((a, b) => a.aside.untilMs - b.aside.untilMs || (a.verdict.id < b.verdict.id ? -1 : 1));
}

function alarmOf<State extends Alarm['state']>(entry: AlarmRecord, state: State): Alarm & { readonly state: State } {
  return {
    verdict: entry.verdict,
    priority: entry.rated.priority,
    reason: `${entry.rated.reason}${entry.doubt === null ? '' : ` (${entry.doubt})`}`,
    state,
    raisedMs: entry.raisedMs!,
    clearedMs: entry.clearedMs,
    acknowledgedBy: entry.acknowledgedBy,
  };
}
