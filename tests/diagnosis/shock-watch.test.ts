/**
 * The shock log: what the simulated hoses do when a valve is slammed (Joukowsky there too, but none of the code), and
 * what is made of it.
 */
import { describe, expect, it } from 'vitest';
import type { Entry } from '../../config/wire/entry.ts';
import type { Note } from '../../config/wire/wire.ts';
import { shockIn } from '../../gateway/core/diagnosis/bursts/shock-watch.ts';
import { scoreLay } from '../score/lays.ts';
import { Drive } from '../support/drive.ts';

const lay = scoreLay('two-lines-8', 'fast');
/** The light heads of this line stand little more than they work at. */
const tender = {
  ...lay,
  heads: lay.heads.map((head) => (head.kit.light ? { ...head, kit: { ...head.kit, survivesPa: 9e5 } } : head)),
};

function ready(seed: number): Drive {
  const drive = new Drive(tender, { seed });
  drive.run(200);
  return drive;
}

function enter(drive: Drive, entry: Entry): void {
  expect(drive.watch.enter(entry, drive.simulation.nowMs + 950)).toBeNull();
}

/** Shut and opened again in one step; returns the highest wave that the plant had at that line's end, Pa. */
function slam(drive: Drive): number {
  const end = drive.layout.places.findIndex(({ id }) => id === 'l0-2');
  let most = 0;
  for (const size of [0, 1]) {
    enter(drive, { kind: 'gate', by: 'AB', gate: 'thief-0', opening: size });
    drive.carry({ do: 'start', what: 'gate', at: 'thief-0', size });
    for (let second = 0; second < 45; second += 1) {
      drive.second();
      most = Math.max(most, drive.simulation.plant.shocks.shockPa[end]!);
    }
  }
  return most;
}

describe('a valve that is slammed', () => {
  const drive = ready(9_720);
  const quiet = drive.picture.shocks.length;
  const wavePa = slam(drive);
  const { shocks } = drive.picture;

  it('leaves a shock in the log of its line, as high as it was, with what was done just before; nothing before it did', () => {
    expect(quiet).toBe(0);
    expect(shocks.length).toBeGreaterThan(0);
    const worst = [...shocks].sort((a, b) => b.peakPa - a.peakPa)[0]!;
    expect(worst.line).toBe('line-0');
    expect(worst.peakPa / wavePa).toBeGreaterThan(0.6);
    expect(worst.peakPa / wavePa).toBeLessThan(1.4);
    expect(worst.ratePaPerS).toBeGreaterThan(worst.peakPa);
    expect(worst.after).toMatch(/by order$/);
  });

  it('asks for a look at the light heads that stand less, until each was seen', () => {
    const worst = Math.max(...shocks.map(({ topPa }) => topPa));
    const named = drive.picture.alarms.find(({ verdict }) => verdict.cause === 'shock');
    if (worst < 9e5) throw new Error(`the shock of this seed reaches ${worst} Pa only: take another`);
    expect(named!.priority).toBe('low');
    const light = tender.heads.filter(({ line, kit }) => line === 'line-0' && kit.light).map(({ id }) => id);
    expect(named!.verdict.places.map(({ id }) => id).sort()).toEqual([...light].sort());
    for (const at of light) enter(drive, { kind: 'looked', by: 'AB', at, found: 'nothing-wrong' });
    drive.run(10);
    expect(drive.standing.filter((one) => one.startsWith('shock'))).toEqual([]);
  });
});

it('a light head that took a shock is named sooner as come off than one that did not', () => {
  const shareOfHeadOff = (shocked: boolean): number => {
    const drive = ready(9_721);
    if (shocked) slam(drive);
    drive.carry({ do: 'start', what: 'head-off', at: 'l0-head-2' });
    drive.run(40);
    const verdict = drive.picture.alarms.find(
      ({ verdict: { subject, cause } }) => subject === 'line-0' && cause !== 'shock',
    )!.verdict;
    return verdict.cause === 'head-off'
      ? verdict.probability
      : verdict.alternatives
          .filter(({ words }) => words.startsWith('head off'))
          .reduce((sum, { probability }) => sum + probability, 0);
  };
  expect(shareOfHeadOff(true)).toBeGreaterThan(shareOfHeadOff(false));
});

describe('a burst', () => {
  const burst = (pressure: (second: number) => number): { atMs: number; value: number }[] =>
    Array.from({ length: 128 }, (_, i) => ({ atMs: Math.round((1_000 * i) / 32), value: pressure(i / 32) }));

  it('of heads that beat plainly is no shock, nor is one that only drifts', () => {
    expect(
      shockIn(
        burst((s) => 800_000 + 50_000 * Math.cos(9 * s)),
        'a',
        [],
      ),
    ).toBeNull();
    expect(
      shockIn(
        burst((s) => 800_000 - 30_000 * s),
        'a',
        [],
      ),
    ).toBeNull();
  });

  it('of a wave that dies away is one, with its height over where it settles', () => {
    const shock = shockIn(
      burst((s) => 400_000 + (s < 1 ? 0 : 500_000 * Math.exp(-(s - 1) / 0.4))),
      'a',
      [{ atMs: 500, words: 'Gate A shut by order', by: 'AB' }],
    )!;
    expect(shock.peakPa / 500_000).toBeCloseTo(1, 1);
    expect(shock.topPa).toBeCloseTo(900_000, -4);
    expect(shock.ratePaPerS).toBeGreaterThan(1e7);
    expect(shock.after).toBe('Gate A shut by order');
  });

  it('is put down to what a person or a pump did within the twenty seconds before it, and to nothing else', () => {
    const after = (note: Partial<Note>): string | null =>
      shockIn(
        burst((s) => 400_000 + (s < 1 ? 0 : 500_000 * Math.exp(-(s - 1) / 0.4))).map(({ atMs, value }) => ({
          atMs: atMs + 60_000,
          value,
        })),
        'a',
        [{ atMs: 55_000, words: 'noted', by: 'AB', ...note }],
      )!.after;
    expect(after({})).toBe('noted');
    expect(after({ atMs: 41_100 }), 'twenty seconds before').toBe('noted');
    expect(after({ atMs: 40_900 }), 'longer before').toBeNull();
    expect(after({ atMs: 65_900 }), 'logged five seconds late').toBe('noted');
    expect(after({ atMs: 66_100 }), 'later').toBeNull();
    expect(after({ by: null, words: 'pump: starting -> running' })).toBe('pump: starting -> running');
    expect(after({ by: null, words: 'Flagged: leak' }), 'what the gateway says of itself').toBeNull();
  });
});
