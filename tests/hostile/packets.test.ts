/**
 * The short form of `npm run hostile`: what strangers send neither stops the gateway nor changes what it shows of the
 * site.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { REFUSALS } from '../../gateway/ingest/refusal.ts';
import { siege, type SiegeOutcome } from './siege.ts';

const COUNT = 20_000;

describe('twenty thousand hostile packets at full speed', () => {
  let outcome: SiegeOutcome;
  beforeAll(() => {
    outcome = siege(COUNT, 9_001);
  }, 60_000);

  it('come in every kind', () => {
    expect(outcome.sent).toBe(COUNT);
    expect(outcome.kinds.size).toBe(12);
    for (const [kind, count] of outcome.kinds) expect([kind, count > 1_000]).toEqual([kind, true]);
  });

  it('leave every picture of the real site as it is without them', () => {
    expect([outcome.differedAtS, outcome.pictures > 30]).toEqual([null, true]);
  });

  it('are journalled one by one with a reason, or counted as come before, and not one number in them is believed', () => {
    const counted = [...outcome.verdicts.values()].reduce((sum, count) => sum + count, 0);
    expect(counted).toBe(COUNT);
    expect(outcome.believed).toBe(0);
    // A pack of base fields only is a legal one, of no readings.
    const known = new Set<string>([
      ...Object.keys(REFUSALS),
      'unknown-device',
      'status',
      'readings',
      'ingest/duplicate',
    ]);
    const strange = [...outcome.verdicts.keys()].filter(
      (verdict) => verdict === '' || !verdict.split(' ').every((word) => known.has(word)),
    );
    expect(strange).toEqual([]);
  });

  it('are counted by reason on the screen, in words that are safe to show', () => {
    expect(outcome.rejected.length).toBeGreaterThan(10);
    for (const { topic, detail } of outcome.rejected) expect(`${topic}${detail}`).not.toMatch(/[\p{Cc}\p{Cf}\p{Cs}]/u);
    expect(JSON.stringify(outcome.rejected).length).toBeLessThan(50_000);
  });

  it('leave the memory as it was', () => {
    expect(outcome.heapGrowthMB).toBeLessThan(20);
  });
});
