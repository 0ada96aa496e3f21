/**
 * Priority by consequence and time to respond, as ISA-18.2 / IEC 62682 are commonly summarised to rationalise it (from
 * memory: severity of the consequence against the time that is left); the steps are ours. And its course: it rises with
 * the trouble and is annunciated again, falls calmly, never chatters, and never falls while nobody can know.
 */
import { describe, expect, it } from 'vitest';
import type { Cause, Priority, Verdict } from '../../config/wire/wire.ts';
import { CAUSE_IDS as CAUSES } from '../../config/causes/causes.ts';
import { Alarms, type AlarmEvent } from '../../gateway/core/alarms/lifecycle.ts';
import { PRIORITY_TABLE, rate } from '../../gateway/core/alarms/priority.ts';
import type { Consequence } from '../../gateway/core/diagnosis/states/consequence.ts';
import { blankAlarm } from '../support/blank-picture.ts';

/** Structures of four heads each, of so many by priority; `lost` of their heads, in order. */
function does(priorities: readonly number[], lost: readonly number[], changes: Partial<Consequence> = {}): Consequence {
  const rows = priorities.map((priority, index) => ({
    label: `house ${index + 1}`,
    priority,
    lost: lost[index] ?? 0,
    heads: 4,
  }));
  const worth = rows.reduce((sum, row) => sum + (10 - row.priority), 0);
  return {
    lost: rows.reduce((sum, row) => sum + row.lost, 0),
    heads: 4 * rows.length,
    structures: rows.filter((row) => row.lost > 0),
    allStructures: rows.length,
    worth: rows.reduce((sum, row) => sum + ((10 - row.priority) * row.lost) / 4, 0) / worth,
    inS: null,
    refill: null,
    unseen: 0,
    ...changes,
  };
}
const EIGHT = [4, 3, 2, 1, 3, 3, 5, 6];
const NOTHING = does(EIGHT, []);
const ALL = does(EIGHT, Array<number>(8).fill(4));
const ONE_HEAD = does(EIGHT, [1]);
const running = (bestS: number, takesS: number, changes: Partial<Consequence['refill']> = {}): Consequence => ({
  ...ALL,
  inS: { best: bestS, low: 0.8 * bestS, high: 1.3 * bestS },
  refill: { takesS, filling: false, usual: false, ...changes },
});

describe('the table', () => {
  it('never gives a worse consequence, or less time, a lesser priority', () => {
    const order: readonly Priority[] = ['high', 'medium', 'low'];
    const rows = (['severe', 'major', 'minor'] as const).map((severity) =>
      (['now', 'soon', 'later'] as const).map((respond) => order.indexOf(PRIORITY_TABLE[severity][respond])),
    );
    expect(rows).toEqual([
      [0, 1, 2],
      [1, 2, 2],
      [2, 2, 2],
    ]);
  });

  it.each([
    ['leak', ALL, 'high', '8 of 8 structures lost, now'],
    ['leak', does(EIGHT, Array<number>(8).fill(2)), 'high', '8 of 8 structures short, now'],
    ['leak', does(EIGHT, [1, 1, 1, 4]), 'high', '4 of 8 structures short, 1 of them lost, now'],
    ['leak', ONE_HEAD, 'low', 'house 1 short, 1 of its 4 heads, now'],
    ['hose-burst', NOTHING, 'low', 'no head is lost by it'],
    ['hose-burst', does(EIGHT, [0, 0, 0, 4]), 'high', 'house 4 lost, now'],
    ['hose-burst', does(EIGHT, [0, 0, 0, 0, 0, 0, 0, 4]), 'medium', 'house 8 lost, now'],
    ['hose-burst', does([...EIGHT.slice(0, 7), 9], [0, 0, 0, 0, 0, 0, 0, 4]), 'low', 'house 8 lost, now'],
    // Seven to nine are the last: one of them lost whole is no more than its share of the worth.
    ['hose-burst', does([...EIGHT.slice(0, 7), 7], [0, 0, 0, 0, 0, 0, 0, 4]), 'low', 'house 8 lost, now'],
    ['gate-shut', does(EIGHT, [2, 2]), 'medium', '2 of 8 structures short, now'],
    ['unexplained', NOTHING, 'medium', 'no head known to be low, no cause known'],
    ['sensor-silent', { ...NOTHING, unseen: 4 }, 'low', '4 of 32 heads cannot be judged'],
    ['sensor-silent', { ...NOTHING, unseen: 32 }, 'medium', '32 of 32 heads cannot be judged'],
    ['pump-stop', does([5], [4]), 'high', 'house 1 lost, now'],
  ] as const)('%s that does %#: %s', (cause, what, priority, reason) => {
    expect(rate(cause, what)).toEqual({ priority, reason });
  });

  it('goes by what it does and not by its name', () => {
    for (const what of [ALL, ONE_HEAD, NOTHING])
      expect(
        new Set(
          CAUSES.filter((cause) => cause !== 'dead-head' && cause !== 'unexplained').map(
            (cause) => rate(cause, what).priority,
          ),
        ).size,
      ).toBe(1);
  });

  it('a hazard to people is that whatever it does, and known or not', () => {
    for (const what of [ALL, NOTHING, null]) expect(rate('dead-head', what).priority).toBe('people');
  });

  it('water and fuel: low, then urgent by the time that a refill takes; calmer while it runs in or comes as usual', () => {
    const told = (what: Consequence): string => `${rate('tank-low', what).priority}: ${rate('tank-low', what).reason}`;
    expect(told(running(3_000, 600))).toBe('low: 8 of 8 structures lost, in about 50 min; a refill takes about 10 min');
    expect(told(running(1_140, 600))).toBe(
      'medium: 8 of 8 structures lost, in about 19 min; a refill takes about 10 min',
    );
    expect(told(running(590, 600))).toBe('high: 8 of 8 structures lost, in about 9 min; a refill takes about 10 min');
    expect(told(running(0, 600))).toBe('high: 8 of 8 structures lost, in under 1 min; a refill takes about 10 min');
    expect(told(running(59, 600))).toMatch(/in under 1 min;/);
    expect(told(running(60, 600))).toMatch(/in about 1 min;/);
    expect(told(running(31_800, 600))).toMatch(/in about 8 h 50 min;/);
    expect(told(running(1_140, 1_800))).toMatch(/^high/);
    expect(told(running(300, 600, { filling: true }))).toBe(
      'medium: 8 of 8 structures lost, in about 5 min if the filling stops',
    );
    expect(told(running(300, 600, { usual: true }))).toBe(
      'medium: 8 of 8 structures lost, in about 5 min unless it is refilled as before',
    );
    expect(rate('fuel-low', running(800, 900)).priority).toBe('high');
  });
});

describe('its course', () => {
  function verdict(cause: Cause, id: string): Verdict {
    return { ...blankAlarm(id).verdict, cause, headline: cause };
  }
  class Course {
    readonly alarms = new Alarms();
    second = 0;

    /** Events of so many seconds with the leak doing this; undefined: nobody can know. */
    run(seconds: number, what: Consequence | null, cause: Cause = 'leak'): AlarmEvent[] {
      const events: AlarmEvent[] = [];
      for (let count = 0; count < seconds; count += 1, this.second += 1)
        events.push(...this.alarms.update([verdict(cause, 'a')], this.second * 1_000, null, new Map([['a', what]])));
      return events;
    }
    get now(): string {
      const [one] = [...this.alarms.list(), ...this.alarms.setAside()];
      return `${one!.priority} ${one!.state}: ${one!.reason}`;
    }
  }

  it('rises within seconds, is annunciated again although somebody had it, and names its reason', () => {
    const course = new Course();
    course.run(10, ONE_HEAD);
    course.alarms.acknowledge('a', 'KM');
    expect(course.now).toBe('low acknowledged: house 1 short, 1 of its 4 heads, now');
    const events = course.run(10, ALL);
    expect(events.map(({ kind, priority }) => `${kind} ${priority}`)).toEqual(['back high', 'annunciated high']);
    expect(course.now).toBe('high unacknowledged: 8 of 8 structures lost, now');
  });

  it('rises off the shelf', () => {
    const course = new Course();
    course.run(10, ONE_HEAD);
    expect(course.alarms.shelve('a', 'KM', 'known', 60, 10_000)).toBeNull();
    expect(course.run(10, ALL).map(({ kind }) => kind)).toEqual(['back', 'annunciated']);
    expect(course.now).toMatch(/^high unacknowledged/);
  });

  it('rises while nobody has it, and that is annunciated, once', () => {
    const course = new Course();
    course.run(10, ONE_HEAD);
    expect(course.run(30, ALL).map(({ kind }) => kind)).toEqual(['annunciated']);
  });

  it('falls calmly: says at once what it is now, keeps its priority for minutes, then falls without a word', () => {
    const course = new Course();
    course.run(10, ALL);
    course.alarms.acknowledge('a', 'KM');
    expect(course.run(110, ONE_HEAD)).toEqual([]);
    expect(course.now).toBe('high acknowledged: house 1 short, 1 of its 4 heads, now (low if that lasts)');
    expect(course.run(20, ONE_HEAD)).toEqual([]);
    expect(course.now).toBe('low acknowledged: house 1 short, 1 of its 4 heads, now');
  });

  it('does not chatter: what swings within its time to fall is annunciated once', () => {
    const course = new Course();
    const events = [
      ...course.run(20, ALL),
      ...Array.from({ length: 20 }, () => [...course.run(30, ONE_HEAD), ...course.run(30, ALL)]).flat(),
    ];
    expect(events.map(({ kind }) => kind)).toEqual(['annunciated']);
    expect(course.now).toMatch(/^high/);
  });

  it('does not rise for a moment', () => {
    const course = new Course();
    course.run(20, ONE_HEAD);
    expect([...course.run(4, ALL), ...course.run(30, ONE_HEAD)]).toEqual([]);
    expect(course.now).toMatch(/^low/);
  });

  it('falls to the worst of what it was while it waited', () => {
    const course = new Course();
    course.run(20, ALL);
    const some = does(EIGHT, [2, 2]);
    course.run(60, ONE_HEAD);
    course.run(10, some);
    course.run(60, ONE_HEAD);
    expect(course.now).toMatch(/^medium/);
  });

  it('never falls, and never rises, while nobody can know what it does; a worse name counts all the same', () => {
    const course = new Course();
    course.run(20, ALL);
    expect(course.run(1_000, null)).toEqual([]);
    expect(course.now).toBe('high unacknowledged: 8 of 8 structures lost, now (as last known)');
    const low = new Course();
    low.run(20, ONE_HEAD, 'head-off');
    expect(low.run(1_000, null, 'head-off')).toEqual([]);
    expect(low.now).toMatch(/^low .*\(as last known\)$/);
    expect(low.run(2, null, 'hose-burst').map(({ priority }) => priority)).toEqual(['high']);
    expect(low.now).toBe('high unacknowledged: what it does is not known');
  });

  it('what clears and returns is weighed anew', () => {
    const course = new Course();
    course.run(20, ALL);
    for (let count = 0; count < 20; count += 1, course.second += 1) course.alarms.update([], course.second * 1_000);
    expect(course.now).toMatch(/^high returned-unacknowledged/);
    course.run(10, ONE_HEAD);
    expect(course.now).toBe('low unacknowledged: house 1 short, 1 of its 4 heads, now');
  });
});
