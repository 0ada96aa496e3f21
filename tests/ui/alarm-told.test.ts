/**
 * What is told of an alarm through its life: as it stands, once it is over, and beside a hazard to people. The safety
 * words are retyped here.
 */
import { describe, expect, it } from 'vitest';
import type { Alarm, Verdict } from '../../config/wire/wire.ts';
import { alarmTold, hazardIn, type AlarmTold } from '../../ui/words/alarm-told.ts';
import { blankAlarm } from '../support/blank-picture.ts';

const DEADHEAD = 'Stay away from the pump and let it cool. Do not touch couplings: the water inside can scald.';
const AWAY = 'Stay away from the pump: it has run with no flow, and the water inside can scald.';
const GATE = 'If incident command agrees: thief-e shut for half a minute and logged here, then opened slowly.';
const MINUTE = 60_000;
const time = (atMs: number): string => `09:${String(atMs / MINUTE).padStart(2, '0')}`;

function alarm(verdict: Partial<Verdict>, changes: Partial<Alarm> = {}): Alarm {
  const blank = blankAlarm('one', { reason: 'lake cabin short, 1 of its 5 heads, now (low if that lasts)' });
  return {
    ...blank,
    ...changes,
    verdict: {
      ...blank.verdict,
      headline: 'line B: head off (about 10 gpm)',
      radio: 'Larch Cove, line B: head off, since 09:23. End of line B 45 psi, expected 58. About 10 gpm.',
      sinceMs: 23 * MINUTE,
      caution: 'Only if incident command has cleared the area.',
      ask: GATE,
      carry: ['spare heads'],
      ...verdict,
    },
  };
}
const over = { state: 'returned-unacknowledged', clearedMs: 25 * MINUTE } as const;
const hazard = alarm(
  {
    id: 'dead-head:pump',
    cause: 'dead-head',
    headline: 'pump: deadheaded. STAY AWAY',
    check: `${DEADHEAD} Ask by radio which gates are shut.`,
    warning: DEADHEAD,
    caution: null,
    ask: null,
    carry: [],
  },
  { priority: 'people' },
);
const told = (one: Alarm, ...others: Alarm[]): AlarmTold =>
  alarmTold(one, { alarms: [one, ...others] }, 'Larch Cove', time);

describe('an alarm', () => {
  it('is told as the gateway words it while it stands', () => {
    const one = alarm({});
    expect(told(one)).toMatchObject({
      radio: one.verdict.radio,
      reason: one.reason,
      check: 'walk it',
      ask: GATE,
      carry: ['spare heads'],
      isOver: false,
    });
  });

  it('that is over says so and since when, nothing of now, and sends nobody', () => {
    expect(told(alarm({}, over))).toEqual({
      radio: 'Larch Cove, over since 09:25 by the readings: line B: head off (about 10 gpm), stood since 09:23.',
      reason: null,
      check: null,
      warning: null,
      caution: null,
      ask: null,
      carry: [],
      isOver: true,
    });
  });

  it('that comes again is told as standing again', () => {
    expect(told(alarm({}, { state: 'unacknowledged', clearedMs: null })).check).toBe('walk it');
  });
});

describe('beside a hazard to people', () => {
  it.each([
    ['that stands', hazard],
    ['that is over and not acknowledged', { ...hazard, ...over }],
  ])('%s no other card orders a gate or sends anybody, standing or over', (_name, danger) => {
    const stands = told(alarm({}), danger);
    expect(stands).toMatchObject({ check: AWAY, warning: AWAY, ask: null, caution: null, carry: [] });
    expect(stands.radio.endsWith(` ${AWAY}`)).toBe(true);
    const cleared = told(alarm({}, over), danger);
    expect(cleared).toMatchObject({ check: null, warning: AWAY, ask: null, caution: null, carry: [] });
    expect(cleared.radio.endsWith(` ${AWAY}`)).toBe(true);
    expect(hazardIn({ alarms: [danger] })).toBe(true);
  });

  it('says stay away once, and keeps the warning of a loose hose', () => {
    const worded = alarm({ radio: `Larch Cove, line B: leak. ${AWAY}` });
    expect(told(worded, hazard).radio).toBe(worded.verdict.radio);
    const burst = 'Stay clear of the open end: it whips.';
    expect(told(alarm({ cause: 'hose-burst', check: burst }), hazard).check).toBe(`${AWAY} ${burst}`);
    expect(told(alarm({ cause: 'hose-burst', check: `${AWAY} ${burst}` }), hazard).check).toBe(`${AWAY} ${burst}`);
  });

  it('the check comes back once the hazard has left the list, and no old warning stays on what is over', () => {
    expect(told(alarm({})).ask).toBe(GATE);
    expect(told(alarm({ warning: AWAY }, over)).warning).toBeNull();
    expect(hazardIn({ alarms: [alarm({})] })).toBe(false);
  });
});

describe('the hazard itself', () => {
  it('keeps its own words while it stands, and its warning when it is over', () => {
    expect(told(hazard)).toMatchObject({ check: hazard.verdict.check, warning: DEADHEAD });
    expect(told({ ...hazard, ...over })).toMatchObject({
      radio: `Larch Cove, over since 09:25 by the readings: pump: deadheaded, stood since 09:23. ${AWAY}`,
      check: null,
      warning: DEADHEAD,
    });
  });
});
