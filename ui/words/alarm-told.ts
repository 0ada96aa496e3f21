/**
 * What is told of an alarm beside its headline, the same on its card, on the radio and on the handover sheet: while it
 * stands as the gateway words it; once it is over in the past, and it sends nobody.
 *
 * In: alarm, all alarms of the picture, name of the site, words for times. Out: words; null: not told. While a hazard
 * to people stands, or is over and nobody has said so, every other alarm says 'stay away' in place of check and order,
 * whatever it said before. Only the warning of a loose hose is kept beside it: that one keeps people away too.
 */
import { CAUSES } from '../../config/causes/causes.ts';
import { STAY_AWAY } from '../../config/safety.ts';
import type { Alarm, Picture, Verdict } from '../../config/wire/wire.ts';

export interface AlarmTold extends Pick<Verdict, 'radio' | 'warning' | 'caution' | 'ask' | 'carry'> {
  readonly reason: string | null;
  readonly check: string | null;
  readonly isOver: boolean;
}

const isHazard = ({ priority, verdict }: Alarm): boolean => priority === 'people' || CAUSES[verdict.cause].hazard;

/** A hazard to people that stands, or that is over and nobody has acknowledged. */
export function hazardIn({ alarms }: Pick<Picture, 'alarms'>): boolean {
  return alarms.some(isHazard);
}

export function alarmTold(
  alarm: Alarm,
  picture: Pick<Picture, 'alarms'>,
  siteName: string,
  time: (atMs: number) => string,
): AlarmTold {
  const { verdict, clearedMs } = alarm;
  const beside = hazardIn(picture) && !isHazard(alarm);
  const warning = beside ? STAY_AWAY : verdict.warning;
  if (clearedMs !== null) {
    const kept = beside || isHazard(alarm) ? warning : null;
    return {
      radio: overRadio(alarm, clearedMs, siteName, time, kept),
      reason: null,
      check: null,
      warning: kept,
      caution: null,
      ask: null,
      carry: [],
      isOver: true,
    };
  }
  const reason = alarm.reason === '' ? null : alarm.reason;
  if (!beside) return { ...verdict, reason, isOver: false };
  return {
    radio: verdict.radio.endsWith(STAY_AWAY) ? verdict.radio : `${verdict.radio} ${STAY_AWAY}`,
    reason,
    check: verdict.cause === 'hose-burst' && verdict.check !== STAY_AWAY ? afterStayAway(verdict.check) : STAY_AWAY,
    warning,
    caution: null,
    ask: null,
    carry: [],
    isOver: false,
  };
}

const afterStayAway = (check: string): string => (check.startsWith(STAY_AWAY) ? check : `${STAY_AWAY} ${check}`);

/** Without what was measured then: said now, it would be taken for now. */
function overRadio(
  { verdict }: Alarm,
  clearedMs: number,
  siteName: string,
  time: (atMs: number) => string,
  warning: string | null,
): string {
  const what = verdict.headline.replace(/\. STAY AWAY$/, '');
  const words =
    `${siteName}, over since ${time(clearedMs)} by the readings: ${what}, stood since ` + `${time(verdict.sinceMs)}.`;
  return warning === null ? words : `${words} ${STAY_AWAY}`;
}
