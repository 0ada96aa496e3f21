/** States and transitions of ISA-18.2 / IEC 62682 (as three public implementations agree on them). */
import { describe, expect, it } from 'vitest';
import { Alarms } from '../../gateway/alarms/lifecycle.ts';
import type { Cause, Verdict } from '../../config/wire.ts';

function verdict(cause: Cause, id = `${cause}:a`): Verdict {
  return {
    id, cause, subject: 'a', subjectKind: 'line', places: [], sinceMs: 0, probability: 0.9, sizeM3s: null, evidence: [], alternatives: [],
    headline: '', check: '', ask: null, carry: [], radio: '',
  };
}

function run(alarms: Alarms, fromS: number, toS: number, verdicts: readonly Verdict[]): void {
  for (let second = fromS; second <= toS; second += 1) alarms.update(verdicts, second * 1_000);
}

describe('alarms', () => {
  it('normal -> unacknowledged after the on-delay -> acknowledged -> normal', () => {
    const alarms = new Alarms();
    run(alarms, 0, 2, [verdict('leak')]);
    expect(alarms.list()).toEqual([]);
    run(alarms, 3, 3, [verdict('leak')]);
    expect(alarms.list().map((alarm) => alarm.state)).toEqual(['unacknowledged']);
    expect(alarms.acknowledge('leak:a', 'AB')).toBe(true);
    expect(alarms.list()[0]).toMatchObject({ state: 'acknowledged', acknowledgedBy: 'AB' });
    run(alarms, 4, 12, []);
    expect(alarms.list()).toEqual([]);
  });

  it('unacknowledged -> returned unacknowledged -> normal on acknowledgement', () => {
    const alarms = new Alarms();
    run(alarms, 0, 4, [verdict('leak')]);
    run(alarms, 5, 12, []);
    expect(alarms.list()[0]).toMatchObject({ state: 'returned-unacknowledged' });
    alarms.acknowledge('leak:a', 'AB');
    expect(alarms.list()).toEqual([]);
  });

  it('a condition that goes on is one alarm, and one that flickers within the off-delay does not return', () => {
    const alarms = new Alarms();
    run(alarms, 0, 5, [verdict('leak')]);
    run(alarms, 6, 9, []);
    run(alarms, 10, 20, [verdict('leak')]);
    expect(alarms.list()).toHaveLength(1);
    expect(alarms.list()[0]).toMatchObject({ state: 'unacknowledged', raisedMs: 3_000 });
  });

  it('a hazard to people stays after it is over until somebody acknowledges that', () => {
    const alarms = new Alarms();
    run(alarms, 0, 3, [verdict('dead-head')]);
    alarms.acknowledge('dead-head:a', 'AB');
    run(alarms, 4, 30, []);
    expect(alarms.list()[0]).toMatchObject({ priority: 'people', state: 'returned-unacknowledged' });
    alarms.acknowledge('dead-head:a', 'AB');
    expect(alarms.list()).toEqual([]);
  });

  it('worst first: people, then high, then what stands longest', () => {
    const alarms = new Alarms();
    run(alarms, 0, 10, [verdict('leak'), verdict('pump-stop'), verdict('dead-head')]);
    expect(alarms.list().map((alarm) => alarm.verdict.cause)).toEqual(['dead-head', 'pump-stop', 'leak']);
  });

  it('an acknowledgement of something that is not on the list says so', () => {
    expect(new Alarms().acknowledge('leak:a', 'AB')).toBe(false);
  });
});
