/**
 * Two troubles on two lines: each is told under its own name and place for as long as it stands, and ends with its own
 * repair. Common practice, no source.
 */
import { describe, expect, it } from 'vitest';
import type { Deed } from '../../simulator/events.ts';
import { Drive, siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
type Fault = Omit<Deed, 'do'>;

interface Case {
  readonly first: Fault;
  readonly firstIs: string;
  readonly second: Fault;
  readonly secondIs: string;
  readonly betweenS: number;
  readonly seed: number;
}

const CASES: readonly Case[] = [
  {
    first: { what: 'head-off', at: 'b-2' },
    firstIs: 'head-off line-b',
    second: { what: 'gate-shut', at: 'thief-e' },
    secondIs: 'gate-shut line-e',
    betweenS: 40,
    seed: 9_905,
  },
  {
    first: { what: 'gate-shut', at: 'thief-e' },
    firstIs: 'gate-shut line-e',
    second: { what: 'head-off', at: 'b-2' },
    secondIs: 'head-off line-b',
    betweenS: 40,
    seed: 9_906,
  },
  {
    first: { what: 'hose-burst', at: 'e-hose-2' },
    firstIs: 'hose-burst line-e',
    second: { what: 'gate-shut', at: 'thief-a' },
    secondIs: 'gate-shut line-a',
    betweenS: 9,
    seed: 9_907,
  },
];

const start = (drive: Drive, fault: Fault): void => drive.carry({ do: 'start', ...fault });
const repair = (drive: Drive, { what, at }: Fault): void =>
  drive.carry({ do: 'repair', what, ...(at === undefined ? {} : { at }), overS: 0 });

describe('two troubles at once', () => {
  it.each(CASES)('$firstIs, then $secondIs: both stand until their own repair', (one) => {
    const drive = new Drive(layout, { seed: one.seed });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.run(10);
    start(drive, one.first);
    drive.run(one.betweenS);
    expect(drive.standing).toEqual([one.firstIs]);
    start(drive, one.second);
    expect(drive.until(25, () => drive.standing.includes(one.secondIs))).not.toBeNull();
    for (let second = 0; second < 90; second += 1) {
      drive.second();
      expect([...drive.standing].sort(), `${second} s after both were told`).toEqual(
        [one.firstIs, one.secondIs].sort(),
      );
    }
    repair(drive, one.first);
    expect(drive.until(40, () => !drive.standing.includes(one.firstIs))).not.toBeNull();
    for (let second = 0; second < 60; second += 1) {
      drive.second();
      expect(drive.standing, `${second} s after the first repair`).toEqual([one.secondIs]);
    }
    repair(drive, one.second);
    expect(drive.until(40, () => drive.standing.length === 0)).not.toBeNull();
  });
});
