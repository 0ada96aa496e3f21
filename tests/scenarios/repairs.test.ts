/**
 * What ends is told as what it was: words, place, size and priority stay while evidence recedes, and nothing is flagged
 * because something ended. Common practice, no source.
 */
import { describe, expect, it } from 'vitest';
import type { Alarm } from '../../config/wire/wire.ts';
import type { Deed } from '../../simulator/events.ts';
import { Drive, siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
type Fault = Omit<Deed, 'do'>;

function walked(seed: number): Drive {
  const drive = new Drive(layout, { seed });
  drive.run(100);
  expect(drive.baseline()).toBeNull();
  drive.run(10);
  expect(drive.standing).toEqual([]);
  return drive;
}

/** A trouble that was named and has stood; what is told of it. */
function stands(drive: Drive, fault: Fault, seconds = 22): Alarm {
  const before = new Set(drive.picture.alarms.map(({ verdict }) => verdict.id));
  drive.carry({ do: 'start', ...fault });
  drive.run(seconds);
  const own = drive.picture.alarms.filter(({ verdict }) => !before.has(verdict.id));
  expect(own, drive.standing.join(', ')).toHaveLength(1);
  return own[0]!;
}

const repair = (drive: Drive, { what, at }: Fault, overS = 0): void =>
  drive.carry({ do: 'repair', what, ...(at === undefined ? {} : { at }), overS });

const said = ({ verdict, priority }: Alarm): unknown => ({
  id: verdict.id,
  words: verdict.headline,
  // Its first sentence says what, where and since when; what gauges read is of now.
  radio: verdict.radio.split('. ')[0],
  places: verdict.places.map(({ id }) => id),
  priority,
});

/** Second by second: of what was told nothing changes, and nothing else comes. */
function keeps(drive: Drive, told: readonly Alarm[], seconds: number): void {
  const known = told.map(said);
  for (let second = 0; second < seconds; second += 1) {
    drive.second();
    for (const alarm of drive.picture.alarms) expect(known, `after ${second + 1} s`).toContainEqual(said(alarm));
  }
}

const BURST: Fault = { what: 'hose-burst', at: 'b-hose-2' };
const HEAD_OFF: Fault = { what: 'head-off', at: 'b-2' };
const SHUT: Fault = { what: 'gate-shut', at: 'thief-c' };
const LEAK: Fault = { what: 'leak', at: 'c-hose-2', size: 0.12 };

describe('a repair', () => {
  it.each([
    [HEAD_OFF, 0, 9_811],
    [HEAD_OFF, 15, 9_812],
    [SHUT, 0, 9_813],
    [SHUT, 20, 9_814],
    [BURST, 0, 9_815],
    [BURST, 10, 9_816],
    [LEAK, 0, 9_817],
    [LEAK, 25, 9_818],
  ] as const)('of %j over %i s leaves its words as they were, and nothing new (seed %i)', (fault, overS, seed) => {
    const drive = walked(seed);
    const told = stands(drive, fault, 30);
    repair(drive, fault, overS);
    keeps(drive, [told], overS + 60);
    expect(drive.standing).toEqual([]);
    expect(drive.picture.notes.map(({ words }) => words)).toContain(`Over: ${told.verdict.headline}`);
  });

  it('that the pump box does not hear leaves them too', () => {
    const drive = walked(9_821);
    const told = stands(drive, HEAD_OFF);
    const box = layout.sensors.filter(({ mounting }) => 'pump' in mounting);
    for (const { id } of box) drive.carry({ do: 'start', what: 'sensor-silent', at: id });
    drive.run(8);
    repair(drive, HEAD_OFF);
    keeps(drive, [told], 12);
    for (const { id } of box) drive.carry({ do: 'repair', what: 'sensor-silent', at: id });
    keeps(drive, [told], 60);
    expect(drive.standing).toEqual([]);
  });

  it.each([9_831, 9_832])('while the throttle moves leaves them too (seed %i)', (seed) => {
    const drive = walked(seed);
    const told = stands(drive, BURST, 30);
    drive.carry({ do: 'start', what: 'throttle', at: layout.pumps[0]!.id, size: 0.88 });
    drive.run(1);
    repair(drive, BURST, 3);
    keeps(drive, [told], 60);
    expect(drive.standing).toEqual([]);
  });

  it('by half is not over, and later what is left is told', () => {
    const drive = walked(9_841);
    const told = stands(drive, { ...LEAK, size: 0.06 }, 40);
    drive.carry({ do: 'start', ...LEAK, size: 0.03 });
    keeps(drive, [told], 25);
    expect(drive.standing).toHaveLength(1);
    drive.run(60);
    expect(drive.picture.alarms).toHaveLength(1);
    const [left] = drive.picture.alarms;
    expect(left).toMatchObject({ state: 'unacknowledged', verdict: { id: told.verdict.id, subject: 'line-c' } });
    expect(left!.verdict.sizeM3s!.best / told.verdict.sizeM3s!.best).toBeLessThan(0.75);
  });

  it('undone at once is the same alarm, and a while later the same one again', () => {
    const drive = walked(9_851);
    const told = stands(drive, HEAD_OFF);
    repair(drive, HEAD_OFF);
    drive.run(4);
    drive.carry({ do: 'start', ...HEAD_OFF });
    drive.run(30);
    expect(drive.standing).toEqual(['head-off line-b']);
    expect(drive.picture.alarms.map(({ verdict }) => verdict.id)).toEqual([told.verdict.id]);
    repair(drive, HEAD_OFF);
    drive.run(60);
    expect(drive.standing).toEqual([]);
    drive.carry({ do: 'start', ...HEAD_OFF });
    drive.run(20);
    expect(drive.standing).toEqual(['head-off line-b']);
  });

  it('of one of two leaves the other one alone', () => {
    const drive = walked(9_861);
    const off = stands(drive, HEAD_OFF, 30);
    const drifts = stands(drive, { what: 'sensor-drift', at: 'end-f-pressure', size: 60 }, 45);
    expect(drifts.verdict).toMatchObject({ cause: 'sensor-drift', subject: 'end-f-pressure' });
    repair(drive, HEAD_OFF, 5);
    keeps(drive, [off, drifts], 70);
    expect(drive.standing).toEqual(['sensor-drift end-f-pressure']);
  });
});

describe('what is true is told', () => {
  it.each([
    [9_871, 1, HEAD_OFF, { what: 'gate-shut', at: 'thief-e' }, 'gate-shut line-e', 15],
    [9_872, 3, BURST, { what: 'head-off', at: 'e-4' }, 'line-e', 40],
    [9_873, 15, SHUT, { what: 'hose-burst', at: 'f-hose-1' }, 'hose-burst line-f', 20],
  ] as const)(
    'a second trouble that begins during or right after a repair (seed %i, after %i s)',
    (seed, afterS, first, second, name, withinS) => {
      const drive = walked(seed);
      const told = stands(drive, first, 30);
      repair(drive, first);
      drive.run(afterS);
      drive.carry({ do: 'start', ...second });
      expect(
        drive.until(withinS, () => drive.standing.some((standing) => standing.endsWith(name))),
        drive.standing.join(', '),
      ).not.toBeNull();
      drive.run(30);
      expect(said(drive.picture.alarms.find(({ verdict }) => verdict.id === told.verdict.id)!)).toEqual(said(told));
    },
  );

  it('a leak that becomes a burst is told as one within seconds', () => {
    const drive = walked(9_881);
    const told = stands(drive, { what: 'leak', at: 'b-hose-2', size: 0.1 }, 40);
    drive.carry({ do: 'start', what: 'hose-burst', at: 'b-hose-2' });
    expect(drive.until(10, () => drive.standing.includes('hose-burst line-b'))).not.toBeNull();
    expect(drive.picture.alarms.map(({ verdict }) => verdict.id)).toEqual([told.verdict.id]);
  });
});
