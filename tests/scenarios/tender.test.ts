/**
 * Water and fuel over their course: low, urgent when less is left than a refill takes, calm while tenders come as they
 * always did, and told at once when one stays away. Against the plant, with its own tank.
 */
import { describe, expect, it } from 'vitest';
import type { Alarm } from '../../config/wire/wire.ts';
import { RefillCycle } from '../../gateway/core/diagnosis/supply/refill-cycle.ts';
import { Drive, siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

/** What was annunciated about the tank, with its minute, by the gateway's own notes. */
function flagged(drive: Drive): Map<string, number> {
  const seen = new Map<string, number>();
  for (const { atMs, words } of drive.picture.notes)
    if (/^Flagged.*tank low/.test(words)) seen.set(`${atMs} ${words}`, atMs);
  return seen;
}
const tank = (drive: Drive): Alarm | undefined =>
  drive.picture.alarms.find(({ verdict }) => verdict.cause === 'tank-low');

describe('a tank that tenders fill in turns', () => {
  it('is flagged while its swing is not known, not once it is, and again when the road is shut', () => {
    const drive = new Drive(layout, { seed: 9_821 });
    drive.carry({ do: 'start', what: 'shuttle', at: 'tank', size: 1_500 });
    const seen = new Map<string, number>();
    const stretch = (minutes: number): number => {
      const before = seen.size;
      for (let minute = 0; minute < minutes; minute += 1) {
        drive.run(60);
        for (const [key, atMs] of flagged(drive)) seen.set(key, atMs);
        const one = tank(drive);
        if (one && one.state !== 'acknowledged')
          drive.watch.enter({ kind: 'acknowledge', by: 'KM', alarm: one.verdict.id }, drive.simulation.nowMs + 950);
      }
      return seen.size - before;
    };
    const first = stretch(75);
    expect(first).toBeGreaterThanOrEqual(1);
    expect(first).toBeLessThanOrEqual(4);
    expect(stretch(80), 'an hour and more of tenders').toBe(0);
    // The tank ran down and was filled several times meanwhile.
    drive.carry({ do: 'repair', what: 'shuttle', at: 'tank' });
    drive.carry({ do: 'start', what: 'tender', at: 'tank', size: 0.001 });
    expect(stretch(45), 'the road is shut').toBeGreaterThanOrEqual(1);
    expect(tank(drive)).toMatchObject({
      priority: 'high',
      reason: expect.stringMatching(/^8 of 8 structures lost, in /),
    });
  }, 120_000);
});

describe('a tank that nobody fills', () => {
  it('is Medium, then High when less is left than a refill takes, annunciated at each step; filled, it is over', () => {
    const drive = new Drive(layout, { seed: 9_822 });
    const steps: string[] = [];
    for (let second = 0; second < 1_500; second += 1) {
      const one = tank(drive);
      const step = one ? one.priority : '-';
      if (steps.at(-1) !== step) steps.push(step);
      if (one && one.state !== 'acknowledged')
        drive.watch.enter({ kind: 'acknowledge', by: 'KM', alarm: one.verdict.id }, drive.simulation.nowMs + 950);
      drive.second();
      if (one?.priority === 'high') break;
    }
    expect(steps).toEqual(['-', 'medium', 'high']);
    expect(drive.picture.supplies[0]!.emptyInS!.best).toBeLessThan(layout.sources[0]!.refillS);
    expect([...flagged(drive)].length).toBe(2);
    drive.carry({ do: 'start', what: 'tender', at: 'tank', size: 1_500 });
    drive.run(330);
    expect(tank(drive)?.priority, 'what is under way leaves more time').toBe('medium');
    expect(tank(drive)!.reason).toMatch(/ if the filling stops$/);
    expect(
      drive.until(900, () => tank(drive) === undefined),
      'full enough, it is over',
    ).not.toBeNull();
  }, 60_000);
});

describe('the swing of a tank', () => {
  function swing(lows: readonly number[]): RefillCycle {
    const cycle = new RefillCycle();
    let atMs = 0;
    for (const low of lows) {
      for (let volume = 5; volume > low; volume -= 0.05) cycle.observe((atMs += 10_000), volume, false);
      for (let volume = low; volume < 5; volume += 0.2) cycle.observe((atMs += 10_000), volume, true);
      cycle.observe((atMs += 10_000), 5, false);
    }
    return cycle;
  }

  it('is known after two refills, holds down to the lowest of the last three, and no further', () => {
    expect(swing([2]).holds(4)).toBe(false);
    const cycle = swing([2, 2.2, 2.1]);
    expect([4, 2.1, 1.9, 1.5].map((volume) => cycle.holds(volume))).toEqual([true, true, true, false]);
    expect([4.5, 3].map((volume) => cycle.isUp(volume))).toEqual([true, false]);
    expect(swing([0.5, 2, 2, 2]).holds(1.5), 'a night that was worse is forgotten').toBe(false);
  });

  it('a wave is no refill, and half a day later nothing is known', () => {
    const cycle = new RefillCycle();
    for (let count = 0; count < 6; count += 1) {
      cycle.observe(count * 60_000, 3, false);
      cycle.observe(count * 60_000 + 10_000, 3.1, true);
      cycle.observe(count * 60_000 + 20_000, 3, false);
    }
    expect(cycle.holds(3)).toBe(false);
    const old = swing([2, 2]);
    old.observe(60_000_000, 4, false);
    expect(old.holds(4)).toBe(false);
  });
});
