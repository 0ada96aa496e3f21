/**
 * Repairs, the short form: a few seeds of the proof that `npm run score -- --repairs N` is. Common practice, no source.
 */
import { describe, expect, it } from 'vitest';
import { isKept, repairsText } from './repair-report.ts';
import { repairPlanOf, runRepair, type RepairOutcome } from './repair-trial.ts';
import { TUNING_FROM } from './trial.ts';

/** Tuning seeds, on the small lays: heads, hoses, gates, pump and sensors, at once and over half a minute. */
const SEEDS = [
  { seed: TUNING_FROM + 2, kind: 'hose freezes' },
  { seed: TUNING_FROM + 20, kind: 'light head off' },
  { seed: TUNING_FROM + 23, kind: 'hose burned through' },
  { seed: TUNING_FROM + 35, kind: 'pump worn or fouled' },
  { seed: TUNING_FROM + 54, kind: 'valve shut' },
  { seed: TUNING_FROM + 60, kind: 'trunk or line kinked' },
  { seed: TUNING_FROM + 78, kind: 'sensor stub iced' },
  { seed: TUNING_FROM + 99, kind: 'suction draws air' },
] as const;

describe('what is repaired', () => {
  it.each(SEEDS)(
    'keeps name, place, size and priority, and nothing new is flagged ($kind, seed $seed)',
    ({ seed, kind }) => {
      const outcome = runRepair(repairPlanOf(seed, kind))!;
      expect(outcome.told.length, 'something was told').toBeGreaterThan(0);
      expect(outcome.changed, outcome.timeline.join('\n')).toEqual([]);
      expect(outcome.flagged, outcome.timeline.join('\n')).toEqual([]);
      expect(outcome.endedS, 'it is over at last').not.toBeNull();
    },
  );

  it('is dealt by its seed: kinds and lays take turns, a third at once, none over more than half a minute', () => {
    const plans = Array.from({ length: 300 }, (_, index) => repairPlanOf(TUNING_FROM + index));
    expect(plans[7]).toEqual(repairPlanOf(TUNING_FROM + 7));
    expect(new Set(plans.map(({ className }) => className)).size).toBeGreaterThan(25);
    expect(new Set(plans.map(({ site }) => site)).size).toBe(5);
    expect(plans.filter(({ overS }) => overS === 0).length / plans.length).toBeCloseTo(0.3, 1);
    expect(Math.max(...plans.map(({ overS }) => overS))).toBeLessThanOrEqual(30);
  });
});

describe('the text of the proof', () => {
  const outcome = (
    changed: RepairOutcome['changed'],
    flagged: readonly string[],
    told = ['leak line-a'],
  ): RepairOutcome => ({
    plan: { seed: 4_711, className: 'a kind', site: 'a lay', standsS: 20, overS: 5 },
    truth: ['leak a-hose-1'],
    told,
    changed,
    flagged,
    endedS: 12,
    watchedS: 300,
    timeline: [],
  });

  it('counts what was kept, what was flagged, and lists the seed of each miss', () => {
    const text = repairsText([
      outcome([], []),
      outcome(['name'], ['plug line-b 9 s']),
      outcome(['size'], []),
      outcome([], [], []),
    ]);
    expect(text).toMatch(/^a kind +3 +1 +0\.667 +0\.667 +0\.333 +1 +12 +0$/m);
    expect(text).toContain('Own name and place kept in 2 of 3 repairs');
    expect(text.match(/--seed 4711/g)).toHaveLength(2);
    expect(isKept(outcome(['place'], []))).toBe(false);
  });
});
