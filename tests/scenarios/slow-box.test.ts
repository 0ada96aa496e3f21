/**
 * The core against the plant with gauges that are read every 10 or 30 s, as a sensor box on batteries sends them: a
 * baseline can be taken, lines stay known while the box is on time, troubles are named within a few readings. The seeds
 * here were not used to set any threshold.
 */
import { describe, expect, it, vi } from 'vitest';
import type { Cause } from '../../config/wire/wire.ts';
import { withGauges } from '../score/gauge-set.ts';
import { Drive, siteLayout } from '../support/drive.ts';

vi.setConfig({ testTimeout: 120_000 });

function steady(gauges: string, seed: number): Drive {
  const drive = new Drive(withGauges(siteLayout('larch-cove'), gauges), { seed });
  // So that the tank lasts.
  drive.carry({ do: 'start', what: 'tender', at: 'tank', size: 420 });
  return drive;
}

/** Runs until the picture says that a baseline can be taken; seconds, null: not in five minutes. */
function untilReady(drive: Drive): number | null {
  return drive.until(300, ({ steady: held }) => held !== null && held.heldS >= held.neededS);
}

const named = (drive: Drive, causes: readonly Cause[], subject: string): boolean =>
  drive.standing.some((name) => causes.some((cause) => name === `${cause} ${subject}`));

describe.each([
  ['all=10', 30],
  ['box=10', 30],
  ['all=30', 90],
])('%s', (gauges, neededS) => {
  const everyS = Number(gauges.split('=')[1]);

  it('says how long a baseline takes, takes it then, and holds every line as known while the box is on time', () => {
    const drive = steady(gauges, 9_301);
    drive.run(everyS + 5);
    expect(drive.baseline()).toMatch(new RegExp(`needs ${neededS} s of steady running.*3 of every gauge`));
    expect(untilReady(drive)).not.toBeNull();
    const ready = drive.picture.steady!;
    expect(ready.neededS).toBe(neededS);
    drive.run(10);
    expect(drive.picture.steady!.heldS - ready.heldS).toBe(10);
    expect(drive.baseline()).toBeNull();
    for (let second = 0; second < 2 * everyS; second += 1) {
      const { lines } = drive.second();
      expect(lines.map(({ state }) => state)).toEqual(lines.map(() => 'as-modelled'));
    }
    expect(drive.standing).toEqual([]);
  });
});

describe.each([
  ['all=10', 60],
  ['all=30', 150],
])('with a baseline, %s', (gauges, withinS) => {
  const everyS = Number(gauges.split('=')[1]);

  it.each([
    { deed: { what: 'head-off', at: 'd-4' }, subject: 'line-d', causes: ['head-off', 'leak'] as const },
    { deed: { what: 'gate-shut', at: 'thief-c' }, subject: 'line-c', causes: ['gate-shut', 'restriction'] as const },
    { deed: { what: 'hose-burst', at: 'trunk-6' }, subject: 'trunk', causes: ['hose-burst', 'leak'] as const },
  ])('names $deed.what on $subject within a few readings, and clears it after repair', ({ deed, subject, causes }) => {
    const drive = steady(gauges, 9_302);
    untilReady(drive);
    expect(drive.baseline()).toBeNull();
    drive.run(2 * everyS);
    drive.carry({ do: 'start', ...deed });
    expect(
      drive.until(withinS + 15, () => named(drive, causes, subject)),
      drive.standing.join(),
    ).not.toBeNull();
    drive.carry({ do: 'repair', ...deed });
    expect(
      drive.until(300, () => drive.standing.length === 0),
      drive.standing.join(),
    ).not.toBeNull();
  });

  it('takes a hand on the throttle for what it is', () => {
    const drive = steady(gauges, 9_303);
    untilReady(drive);
    expect(drive.baseline()).toBeNull();
    for (const size of [0.85, 0.97]) {
      drive.carry({ do: 'start', what: 'throttle', at: 'pump', size });
      drive.run(10 * everyS);
    }
    expect([...drive.raised.values()].map(({ verdict }) => verdict.headline)).toEqual([]);
  });
});

it('a box that speaks more seldom than its layout says is followed as it speaks', () => {
  const spoken = withGauges(siteLayout('larch-cove'), 'all=10');
  const drive = steady('', 9_304);
  // The layout says once a second; the devices send every ten.
  const slow = new Drive(spoken, { seed: 9_304 });
  Object.assign(drive, { simulation: slow.simulation });
  drive.run(150);
  expect(drive.picture.channels.find(({ channel }) => channel === 'discharge')?.freshness).toBe('fresh');
  expect(drive.picture.steady?.neededS).toBeCloseTo(30, -1);
  expect(drive.picture.lines.map(({ state }) => state)).not.toContain('unknown');
});
