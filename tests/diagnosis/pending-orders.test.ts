/**
 * A gate ordered to move is believed moved when the readings say so, told early or late. Order of events: common
 * practice.
 */
import { describe, expect, it } from 'vitest';
import { Drive, siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

function walked(seed: number): Drive {
  const drive = new Drive(layout, { seed });
  drive.run(100);
  expect(drive.baseline()).toBeNull();
  drive.run(10);
  return drive;
}

const order = (drive: Drive, opening: number): string | null =>
  drive.watch.enter({ kind: 'gate', by: 'AB', gate: 'thief-c', opening }, drive.simulation.nowMs + 950);
const heard = (drive: Drive): string[] => [...drive.raised.values()].map(({ verdict }) => verdict.headline);

describe('a gate ordered to move', () => {
  it.each([
    [9_831, 0],
    [9_832, 8],
    [9_833, 45],
    [9_834, 0],
    [9_835, 20],
  ])('raises nothing when the hand follows %# (seed %i, %i s later), shut and open again', (seed, laterS) => {
    const drive = walked(seed);
    for (const opening of [0, 1]) {
      expect(order(drive, opening)).toBeNull();
      drive.run(laterS);
      drive.carry({ do: 'start', what: 'gate', at: 'thief-c', size: opening });
      drive.run(90);
      expect(heard(drive)).toEqual([]);
    }
    expect(drive.picture.lines.every(({ state }) => state === 'as-modelled')).toBe(true);
  });

  it('does not hide a trouble elsewhere while the hand is awaited', () => {
    const drive = walked(9_836);
    order(drive, 0);
    drive.run(3);
    drive.carry({ do: 'start', what: 'head-off', at: 'a-3' });
    expect(drive.until(20, () => drive.standing.includes('head-off line-a'))).not.toBeNull();
  });

  it('an order that nobody carries out is a surprise after two minutes, not before', () => {
    const drive = walked(9_837);
    order(drive, 0);
    drive.run(115);
    expect(heard(drive)).toEqual([]);
    expect(drive.until(60, () => drive.standing.length > 0)).not.toBeNull();
  });
});
