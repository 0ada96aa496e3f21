/**
 * States and transitions of ISA-18.2 / IEC 62682 (from memory, as three public implementations agree on them), and what
 * is ours on top: shelves of 5 to 60 minutes, no hazard to people ever set aside, modes that hold back what they bring
 * about.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CAUSE_IDS, HELD_BACK } from '../../config/causes/causes.ts';
import type { Mode } from '../../config/modes.ts';
import type { Alarm, Cause, Priority, Picture, Verdict } from '../../config/wire/wire.ts';
import { Alarms, type AlarmEvent } from '../../gateway/core/alarms/lifecycle.ts';
import { blankVerdict } from '../support/blank-picture.ts';

const verdict = (cause: Cause, id = `${cause}:a`): Verdict => blankVerdict(cause, 'a', { id });

function run(
  alarms: Alarms,
  fromS: number,
  toS: number,
  verdicts: readonly Verdict[],
  mode: Picture['mode'] = null,
): AlarmEvent[] {
  const events: AlarmEvent[] = [];
  for (let second = fromS; second <= toS; second += 1) events.push(...alarms.update(verdicts, second * 1_000, mode));
  return events;
}

const refuelling = { name: 'refuelling', untilMs: 600_000, by: 'CD' } as const;
const stateOf = (alarms: Alarms, id: string): string =>
  [...alarms.list(), ...alarms.setAside()].find((alarm) => alarm.verdict.id === id)?.state ?? 'normal';

describe('alarms', () => {
  it('normal -> unacknowledged after the on-delay -> acknowledged -> normal', () => {
    const alarms = new Alarms();
    run(alarms, 0, 2, [verdict('leak')]);
    expect(alarms.list()).toEqual([]);
    expect(run(alarms, 3, 3, [verdict('leak')]).map(({ kind }) => kind)).toEqual(['annunciated']);
    expect(alarms.list().map((alarm) => alarm.state)).toEqual(['unacknowledged']);
    expect(alarms.acknowledge('leak:a', 'AB')).toBe(true);
    expect(alarms.list()[0]).toMatchObject({ state: 'acknowledged', acknowledgedBy: 'AB' });
    expect(run(alarms, 4, 12, []).map(({ kind }) => kind)).toEqual(['over']);
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

  it('returned unacknowledged -> unacknowledged when it comes again, annunciated anew', () => {
    const alarms = new Alarms();
    run(alarms, 0, 4, [verdict('leak')]);
    run(alarms, 5, 12, []);
    expect(run(alarms, 13, 16, [verdict('leak')]).map(({ kind }) => kind)).toEqual(['annunciated']);
    expect(stateOf(alarms, 'leak:a')).toBe('unacknowledged');
  });

  it('what is over and not taken stays on the list while it flickers, until it is back for sure', () => {
    const alarms = new Alarms();
    run(alarms, 0, 4, [verdict('leak')]);
    run(alarms, 5, 12, []);
    run(alarms, 13, 14, [verdict('leak')]);
    expect(stateOf(alarms, 'leak:a')).toBe('returned-unacknowledged');
    expect(run(alarms, 15, 40, [])).toEqual([]);
    expect(stateOf(alarms, 'leak:a')).toBe('returned-unacknowledged');
    run(alarms, 41, 44, [verdict('leak')]);
    expect(alarms.list()[0]).toMatchObject({ state: 'unacknowledged', raisedMs: 44_000, clearedMs: null });
  });

  it('a condition that goes on is one alarm, and one that flickers within the off-delay does not return', () => {
    const alarms = new Alarms();
    const events = [
      ...run(alarms, 0, 5, [verdict('leak')]),
      ...run(alarms, 6, 9, []),
      ...run(alarms, 10, 20, [verdict('leak')]),
    ];
    expect(events).toHaveLength(1);
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

describe('the shelf', () => {
  function shelved(minutes = 5): Alarms {
    const alarms = new Alarms();
    run(alarms, 0, 10, [verdict('leak')]);
    expect(alarms.shelve('leak:a', 'AB', 'known weep', minutes, 10_000)).toBeNull();
    return alarms;
  }

  it('takes an alarm off the list, with who, why and until when', () => {
    const alarms = shelved();
    expect(alarms.list()).toEqual([]);
    expect(alarms.setAside()).toMatchObject([
      { state: 'shelved', aside: { by: 'AB', why: 'known weep', untilMs: 310_000 } },
    ]);
    expect(alarms.acknowledge('leak:a', 'AB')).toBe(false);
  });

  it('ends by itself and says so: what still stands is flagged anew', () => {
    const alarms = shelved();
    expect(run(alarms, 11, 309, [verdict('leak')])).toEqual([]);
    expect(run(alarms, 310, 310, [verdict('leak')]).map(({ words }) => words)).toEqual([
      'Shelf ended by itself: leak',
      'Flagged: leak',
    ]);
    expect(alarms.list()).toMatchObject([{ state: 'unacknowledged', acknowledgedBy: null }]);
  });

  it('keeps what is over until it ends, then lets it go; what comes again meanwhile stays on it', () => {
    const alarms = shelved();
    run(alarms, 11, 60, []);
    expect(alarms.setAside()).toMatchObject([{ clearedMs: 17_000 }]);
    run(alarms, 61, 70, [verdict('leak')]);
    expect(alarms.setAside()).toMatchObject([{ clearedMs: null, state: 'shelved' }]);
    run(alarms, 71, 309, []);
    expect(run(alarms, 310, 310, []).map(({ words }) => words)).toEqual([
      'Shelf ended by itself: leak (over meanwhile)',
    ]);
    expect(stateOf(alarms, 'leak:a')).toBe('normal');
  });

  it('can be ended by hand, whether the trouble still stands or not', () => {
    const standing = shelved();
    expect(standing.unshelve('leak:a')).toBeNull();
    expect(stateOf(standing, 'leak:a')).toBe('unacknowledged');
    const over = shelved();
    run(over, 11, 60, []);
    expect(over.unshelve('leak:a')).toBeNull();
    expect(stateOf(over, 'leak:a')).toBe('normal');
    expect(over.unshelve('leak:a')).toMatch(/no alarm/);
  });

  it('is not needed for what was taken and then becomes a worse thing: that is flagged again, once', () => {
    const alarms = new Alarms();
    run(alarms, 0, 10, [verdict('leak', 'leak:a')]);
    expect(alarms.acknowledge('leak:a', 'AB')).toBe(true);
    expect(run(alarms, 11, 11, [verdict('hose-burst', 'leak:a')]).map(({ words }) => words)).toEqual([
      'It got worse since it was acknowledged: hose-burst',
      'Flagged: hose-burst',
    ]);
    expect(alarms.list()[0]!.state).toBe('unacknowledged');
    expect(alarms.acknowledge('leak:a', 'AB')).toBe(true);
    expect(run(alarms, 12, 20, [verdict('hose-burst', 'leak:a')])).toEqual([]);
  });

  it('ends at once when what lies on it becomes a worse thing', () => {
    const alarms = shelved(60);
    expect(run(alarms, 11, 11, [verdict('hose-burst', 'leak:a')]).map(({ words }) => words)).toEqual([
      'Off the shelf, it got worse: hose-burst',
      'Flagged: hose-burst',
    ]);
    expect(alarms.list()).toMatchObject([{ state: 'unacknowledged', priority: 'high' }]);
  });

  it('refuses hazards to people, less than 5 and more than 60 minutes, no reason, what is not there, what lies there already', () => {
    const alarms = new Alarms();
    run(alarms, 0, 10, [verdict('leak'), verdict('dead-head')]);
    const put = (id: string, minutes: number, why = 'known'): string | null =>
      alarms.shelve(id, 'AB', why, minutes, 10_000);
    expect(put('dead-head:a', 10)).toMatch(/hazard to people cannot/);
    expect(put('leak:a', 4.9)).toMatch(/5 to 60/);
    expect(put('leak:a', 61)).toMatch(/5 to 60/);
    expect(put('leak:a', Number.NaN)).toMatch(/5 to 60/);
    expect(put('leak:a', 10, ' ')).toMatch(/reason/);
    expect(put('plug:a', 10)).toMatch(/no alarm/);
    expect(put('leak:a', 10)).toBeNull();
    expect(put('leak:a', 10)).toMatch(/already/);
  });
});

describe('suppression by mode', () => {
  it('lists what it holds back, and lets go of what is over', () => {
    const alarms = new Alarms();
    expect(run(alarms, 0, 10, [verdict('pump-stop')], refuelling)).toEqual([]);
    expect(alarms.list()).toEqual([]);
    expect(alarms.setAside()).toMatchObject([
      { state: 'suppressed', aside: { by: 'CD', why: 'refuelling', untilMs: 600_000 } },
    ]);
    run(alarms, 11, 30, [], refuelling);
    expect(stateOf(alarms, 'pump-stop:a')).toBe('normal');
  });

  it('flags what still stands when the mode has ended, and says why it was not flagged before', () => {
    const alarms = new Alarms();
    run(alarms, 0, 10, [verdict('pump-stop')], refuelling);
    expect(run(alarms, 11, 11, [verdict('pump-stop')]).map(({ words }) => words)).toEqual([
      'No longer held back by a mode: pump-stop',
      'Flagged: pump-stop',
    ]);
    expect(alarms.list()).toMatchObject([{ state: 'unacknowledged', raisedMs: 11_000 }]);
  });

  it('holds back what was flagged before the mode was declared, and nothing else', () => {
    const alarms = new Alarms();
    run(alarms, 0, 10, [verdict('pump-stop'), verdict('leak')]);
    run(alarms, 11, 12, [verdict('pump-stop'), verdict('leak')], refuelling);
    expect([stateOf(alarms, 'pump-stop:a'), stateOf(alarms, 'leak:a')]).toEqual(['suppressed', 'unacknowledged']);
    expect(alarms.shelve('pump-stop:a', 'AB', 'known', 10, 12_000)).toMatch(/already/);
  });

  it.each(Object.entries(HELD_BACK) as [Mode, readonly Cause[]][])(
    '%s holds back no hazard to people',
    (name, causes) => {
      const alarms = new Alarms();
      run(
        alarms,
        0,
        30,
        causes.map((cause) => verdict(cause)),
        { name, untilMs: 600_000, by: 'CD' },
      );
      expect(alarms.list()).toEqual([]);
      expect(
        alarms
          .setAside()
          .map(({ verdict: { cause } }) => cause)
          .sort(),
      ).toEqual([...causes].sort());
      expect(alarms.setAside().filter(({ priority }) => priority === 'people')).toEqual([]);
    },
  );
});

/** From state to state within one second; acknowledging and shelving happen between seconds. */
const MAY_BECOME: Readonly<Record<string, readonly string[]>> = {
  normal: ['unacknowledged', 'suppressed'],
  unacknowledged: ['returned-unacknowledged', 'suppressed', 'normal'],
  /** Unacknowledged again: only as a worse thing than the one that somebody knows of. */
  acknowledged: ['normal', 'returned-unacknowledged', 'suppressed', 'unacknowledged'],
  'returned-unacknowledged': ['normal', 'unacknowledged', 'suppressed'],
  shelved: ['unacknowledged', 'normal', 'suppressed'],
  suppressed: ['unacknowledged', 'normal'],
};

const RANKS: readonly Priority[] = ['people', 'high', 'medium', 'low'];
const rankOf = (alarms: Alarms, id: string): number =>
  RANKS.indexOf(alarms.list().find(({ verdict: { id: own } }) => own === id)?.priority ?? 'low');

it('whatever happens in whatever order: only the transitions of the standard, no hazard set aside, no shelf outlives its time', () => {
  const causes = [...CAUSE_IDS];
  const step = fc.record({
    on: fc.subarray(['leak', 'hose-burst', 'dead-head', 'pump-stop', 'gate-shut'] as Cause[]),
    seconds: fc.integer({ min: 1, max: 20 }),
    mode: fc.constantFrom(null, 'refuelling', 'cycling', 'filling') as fc.Arbitrary<Mode | null>,
    deed: fc.constantFrom('none', 'acknowledge', 'shelve', 'unshelve'),
    which: fc.constantFrom(...causes),
  });
  fc.assert(
    fc.property(fc.array(step, { maxLength: 40 }), (steps) => {
      const alarms = new Alarms();
      let second = 0;
      for (const { on, seconds, mode, deed, which } of steps) {
        // Leak and burst share a key, as they do in the diagnosis.
        const verdicts = on.map((cause) => verdict(cause, cause === 'hose-burst' ? 'leak:a' : `${cause}:a`));
        for (let count = 0; count < seconds; count += 1, second += 1) {
          const before = new Map(
            ['leak:a', 'dead-head:a', 'pump-stop:a', 'gate-shut:a'].map((id) => [id, stateOf(alarms, id)]),
          );
          const ranks = new Map([...before.keys()].map((id) => [id, rankOf(alarms, id)]));
          alarms.update(verdicts, second * 1_000, mode && { name: mode, untilMs: 1e9, by: 'CD' });
          for (const [id, was] of before) {
            const is = stateOf(alarms, id);
            if (is !== was) expect(MAY_BECOME[was], `${was} -> ${is}`).toContain(is);
            if (was === 'acknowledged' && is === 'unacknowledged')
              expect(rankOf(alarms, id)).toBeLessThan(ranks.get(id)!);
          }
          const aside = alarms.setAside();
          expect(aside.filter((alarm) => alarm.priority === 'people')).toEqual([]);
          expect(aside.filter((alarm) => alarm.state === 'shelved' && alarm.aside.untilMs <= second * 1_000)).toEqual(
            [],
          );
          const ids = [...alarms.list(), ...aside].map((alarm: Alarm) => alarm.verdict.id);
          expect(new Set(ids).size).toBe(ids.length);
        }
        const id = `${which}:a`;
        if (deed === 'acknowledge') alarms.acknowledge(id, 'AB');
        if (deed === 'shelve') alarms.shelve(id, 'AB', 'known', 5, second * 1_000);
        if (deed === 'unshelve') alarms.unshelve(id);
      }
    }),
    { numRuns: 150, seed: 20 },
  );
});
