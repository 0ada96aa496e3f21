/**
 * The water books of a tank on readings with known truth: noise of the level, a flow meter that is off in scale.
 *
 * Normal deviates by Box & Muller (Annals of Mathematical Statistics 29 (1958) 610) from the seeded generator of the
 * simulator. Numbers of the scene (24 m2 of tank, 9 L/s drawn, 4 mm of noise) are invented.
 */
import { describe, expect, it } from 'vitest';
import { TankBalance, type TankLeak } from '../../gateway/core/diagnosis/supply/tank-balance.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';

const AREA_M2 = 24;
const LEVEL_SD_M = 0.004;
const DRAWN_M3S = 0.009;

/** Share of a deviate that goes over into the next second. */
const CALM = 0;
const SLOW_WAVES = 0.9;

interface Scene {
  readonly leakM3s: number;
  readonly meterScale: number;
  readonly minutes: number;
  readonly leakAfterMinutes: number;
  readonly waves?: number;
  /** Minutes in which nothing is heard. */
  readonly unheard?: readonly [number, number];
}

interface Told {
  readonly afterS: number;
  readonly leak: TankLeak | null;
}

/** What is told of a leak, whenever it changes, with the seconds since the leak. */
function told(
  seed: number,
  { leakM3s, meterScale, minutes, leakAfterMinutes, waves = CALM, unheard = [0, 0] }: Scene,
): Told[] {
  const dice = SeededRandom.named(seed, 'tank');
  const normal = (): number =>
    Math.sqrt(-2 * Math.log(1 - dice.between(0, 1))) * Math.cos(2 * Math.PI * dice.between(0, 1));
  const balance = new TankBalance(LEVEL_SD_M * AREA_M2);
  const out: Told[] = [];
  let volumeM3 = 60;
  let deviate = 0;
  for (let second = 1; second <= minutes * 60; second += 1) {
    volumeM3 -= DRAWN_M3S + (second > leakAfterMinutes * 60 ? leakM3s : 0);
    deviate = waves * deviate + Math.sqrt(1 - waves ** 2) * normal();
    if (second > unheard[0] * 60 && second <= unheard[1] * 60) continue;
    balance.observe(second * 1_000, volumeM3 + AREA_M2 * LEVEL_SD_M * deviate, DRAWN_M3S * meterScale, false);
    if (balance.leak !== (out.at(-1)?.leak ?? null))
      out.push({ afterS: second - leakAfterMinutes * 60, leak: balance.leak });
  }
  return out;
}

const SMALL_M3S = 0.03 * DRAWN_M3S;

describe('water books', () => {
  const small = Array.from({ length: 40 }, (_, seed) =>
    told(8_000 + seed, { leakM3s: SMALL_M3S, meterScale: 0.98, minutes: 40, leakAfterMinutes: 15 }),
  );

  it('find a leak of 3 % of the flow within ten minutes in 19 of 20 runs, its size to three quarters, and with a range of two standard deviations that holds the truth', () => {
    const timely = small.filter(([first]) => first && first.afterS > 0 && first.afterS <= 600);
    expect(timely.length).toBeGreaterThanOrEqual(38);
    for (const [first] of timely) expect(Math.abs(first!.leak!.rateM3s / SMALL_M3S - 1)).toBeLessThan(0.75);
    expect(
      timely.filter(([first]) => Math.abs(first!.leak!.rateM3s - SMALL_M3S) < 2 * first!.leak!.sdM3s).length,
    ).toBeGreaterThanOrEqual(36);
  });

  it('know its size to a third after twenty minutes, and never think that it is over while it goes on', () => {
    for (const run of small) {
      expect(run.every(({ leak }) => leak !== null)).toBe(true);
      expect(Math.abs(run.findLast(({ afterS }) => afterS <= 1_200)!.leak!.rateM3s / SMALL_M3S - 1)).toBeLessThan(0.34);
    }
  });

  it('find it also where nothing was heard for three minutes just before', () => {
    for (let seed = 9_400; seed < 9_420; seed += 1) {
      const [first] = told(seed, {
        leakM3s: SMALL_M3S,
        meterScale: 0.98,
        minutes: 30,
        leakAfterMinutes: 15,
        unheard: [12, 15],
      });
      expect(first?.afterS, `seed ${seed}`).toBeLessThanOrEqual(600);
    }
  });

  it('say nothing of a sound tank, whatever the flow meter makes of the scale', () => {
    for (const meterScale of [0.96, 0.98, 1, 1.02, 1.04]) {
      for (let seed = 0; seed < 8; seed += 1) {
        expect(
          told(8_100 + seed, { leakM3s: 0, meterScale, minutes: 40, leakAfterMinutes: 40 }),
          `scale ${meterScale}`,
        ).toEqual([]);
      }
    }
  });

  it('say nothing of waves that come and go within half a minute', () => {
    for (let seed = 9_400; seed < 9_420; seed += 1) {
      expect(
        told(seed, { leakM3s: 0, meterScale: 1, minutes: 60, leakAfterMinutes: 60, waves: SLOW_WAVES }),
        `seed ${seed}`,
      ).toEqual([]);
    }
  });

  it('stay sane where it is never heard for long', () => {
    const balance = new TankBalance(LEVEL_SD_M * AREA_M2);
    for (let second = 1; second <= 3_600; second += 1)
      if (second % 90 < 12) balance.observe(second * 1_000, 60 - second * DRAWN_M3S, DRAWN_M3S, false);
    expect(balance.leak).toBeNull();
  });

  it('start anew with a refill, and forget a leak that is stopped', () => {
    const balance = new TankBalance(LEVEL_SD_M * AREA_M2);
    let volumeM3 = 60;
    let leakM3s = 0;
    const run = (fromS: number, toS: number): void => {
      for (let second = fromS; second < toS; second += 1) {
        volumeM3 -= DRAWN_M3S + leakM3s;
        balance.observe(second * 1_000, volumeM3, DRAWN_M3S, false);
      }
    };
    run(0, 600);
    leakM3s = 0.1 * DRAWN_M3S;
    run(600, 900);
    expect(balance.leak).not.toBeNull();
    leakM3s = 0;
    run(900, 1_500);
    expect(balance.leak).toBeNull();
    leakM3s = 0.1 * DRAWN_M3S;
    run(1_500, 2_000);
    expect(balance.leak).not.toBeNull();
    balance.observe(2_000_000, volumeM3 + 1, DRAWN_M3S, true);
    expect(balance.leak).toBeNull();
  });
});
