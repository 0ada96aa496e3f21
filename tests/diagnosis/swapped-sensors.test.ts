/**
 * Two gauges that traded places, against the plant, which lets a gauge take its zero along. With g the true gap and z
 * the gap of the zeros, they read g + z apart before and z - g after (arithmetic): the step of 2 g is not told by what
 * they showed.
 */
import { describe, expect, it } from 'vitest';
import { scoreLay } from '../score/lays.ts';
import { Drive } from '../support/drive.ts';

/**
 * Lays in which the zeros make much of the gap: named a burst, or unexplained, while the zeros were left out of
 * account.
 */
const CASES = [
  { site: 'two-lines-8', at: 'end-0', other: 'end-1', seeds: [9_502, 9_504, 9_508] },
  { site: 'larch-cove', at: 'end-c-pressure', other: 'end-d-pressure', seeds: [9_500, 9_505, 9_508] },
  { site: 'quarry-road', at: 'end-m-pressure', other: 'end-n-pressure', seeds: [9_507, 9_509] },
].flatMap(({ seeds, ...rest }) => seeds.map((seed) => ({ seed, ...rest })));

describe('two line ends trade places', () => {
  it.each(CASES)(
    '$at with $other of $site (seed $seed) is named as such, whatever the zeros make of it',
    ({ site, at, other, seed }) => {
      const drive = new Drive(scoreLay(site, 'fast'), { seed });
      drive.run(150);
      expect(drive.baseline()).toBeNull();
      drive.run(60);
      drive.carry({ do: 'start', what: 'sensor-swapped', at });
      expect(drive.until(30, () => drive.standing.length > 0)).not.toBeNull();
      drive.run(20);
      expect(drive.standing).toEqual([`sensor-swapped ${at}`]);
      expect(drive.picture.alarms[0]!.verdict.places.map(({ id }) => id)).toEqual([other]);
      drive.carry({ do: 'repair', what: 'sensor-swapped', at });
      expect(
        drive.until(120, () => drive.standing.length === 0),
        drive.standing.join(),
      ).not.toBeNull();
    },
  );

  it('one of two gauges that steps by itself has not traded places', () => {
    const drive = new Drive(scoreLay('two-lines-8', 'fast'), { seed: 9_520 });
    drive.run(150);
    expect(drive.baseline()).toBeNull();
    drive.run(60);
    drive.carry({ do: 'start', what: 'sensor-drift', at: 'end-0', size: 60 });
    drive.run(120);
    expect(drive.standing).toEqual(['sensor-drift end-0']);
  });
});
