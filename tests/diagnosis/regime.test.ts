/** What one pump is doing: throttle against fading, dead-head, dry running. Common practice, no source. */
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { PumpRegime, type PumpFrame } from '../../gateway/core/diagnosis/pump/regime.ts';

const RATED_FLOW = 0.01;

function frame(second: number, over: Partial<PumpFrame> = {}): PumpFrame {
  return {
    atMs: second * 1_000,
    speedRatio: 1,
    speedMs: second * 1_000,
    speedEveryMs: 1_000,
    dischargePa: 700_000,
    flowM3s: 0.008,
    dischargeMs: second * 1_000,
    shutOffPa: 1_450_000,
    ratedShutOffPa: 1_450_000,
    outlet: null,
    ratedFlowM3s: RATED_FLOW,
    ...over,
  };
}

function running(): PumpRegime {
  const regime = new PumpRegime();
  for (let second = 0; second < 20; second += 1) regime.observe(frame(second));
  regime.filled(20_000);
  for (let second = 20; second < 60; second += 1) regime.observe(frame(second));
  return regime;
}

describe('a running pump', () => {
  it('starts as filling and runs once the lay is full', () => {
    const regime = new PumpRegime();
    regime.observe(frame(0));
    expect(regime.state).toBe('starting');
    regime.filled(1_000);
    regime.observe(frame(1));
    expect(regime.state).toBe('running');
  });

  it('runs on after a gap in its readings, and starts anew after a stop', () => {
    const regime = running();
    for (let second = 60; second < 200; second += 1)
      regime.observe(frame(second, { speedRatio: null, dischargePa: null, flowM3s: null }));
    expect(regime.state).toBe('unknown');
    regime.observe(frame(200));
    expect(regime.state).toBe('running');
    regime.observe(frame(201, { speedRatio: 0, dischargePa: 0, flowM3s: 0 }));
    regime.observe(frame(202, { speedRatio: null, dischargePa: null, flowM3s: null }));
    regime.observe(frame(203));
    expect(regime.state).toBe('starting');
  });

  it('takes a step of the speed for a throttle: noted, no sag', () => {
    const regime = running();
    const steps: unknown[] = [];
    for (let second = 60; second < 120; second += 1) {
      regime.observe(frame(second, { speedRatio: Math.max(0.85, 1 - 0.05 * (second - 60)) }));
      if (regime.step) steps.push(regime.step);
      expect(regime.sag).toBeNull();
    }
    expect(steps.length).toBeGreaterThanOrEqual(1);
  });

  it('takes a slide of the speed for an engine that fades, and clears when the speed is back', () => {
    const regime = running();
    for (let second = 60; second < 130; second += 1)
      regime.observe(frame(second, { speedRatio: 1 - 0.003 * Math.min(60, second - 60) }));
    expect(regime.sag?.share).toBeGreaterThan(0.1);
    for (let second = 130; second < 150; second += 1) regime.observe(frame(second));
    expect(regime.sag).toBeNull();
  });

  it('does not take for set what it fell to unheard if it was falling before, and says what moved if not', () => {
    const silent = { speedRatio: null, speedMs: null, dischargePa: null, flowM3s: null };
    const regime = running();
    for (let second = 60; second < 74; second += 1)
      regime.observe(frame(second, { speedRatio: 1 - 0.003 * (second - 60) }));
    for (let second = 74; second < 150; second += 1) regime.observe(frame(second, silent));
    for (let second = 150; second < 160; second += 1) regime.observe(frame(second, { speedRatio: 0.8 }));
    expect(regime.sag?.share).toBeCloseTo(0.2, 3);
    for (let second = 160; second < 240; second += 1) regime.observe(frame(second, silent));
    for (let second = 240; second < 250; second += 1) regime.observe(frame(second, { speedRatio: 0.8 }));
    expect(regime.sag?.share, 'a gap of the radio clears no sag').toBeCloseTo(0.2, 3);

    const hand = running();
    for (let second = 60; second < 64; second += 1)
      hand.observe(frame(second, { speedRatio: 1 - 0.03 * (second - 60) }));
    for (let second = 64; second < 150; second += 1) hand.observe(frame(second, silent));
    for (let second = 150; second < 170; second += 1) hand.observe(frame(second, { speedRatio: 0.8 }));
    expect(hand.sag, 'a hand that was on the throttle').toBeNull();

    const set = running();
    const steps: unknown[] = [];
    for (let second = 60; second < 140; second += 1) set.observe(frame(second, silent));
    for (let second = 140; second < 160; second += 1) {
      set.observe(frame(second, { speedRatio: 0.8 }));
      if (set.step) steps.push(set.step);
    }
    expect(set.sag).toBeNull();
    expect(steps).toEqual([{ fromRatio: 1, toRatio: 0.8, unheard: true }]);
  });

  it('tells a slide of 0.25 % a second within a quarter of a minute, through the noise of its sensor', () => {
    const delays = Array.from({ length: 40 }, (_, run) => {
      const dice = SeededRandom.named(9_000 + run, 'slide');
      const regime = running();
      for (let second = 60; second < 120; second += 1) {
        regime.observe(frame(second, { speedRatio: 1 - 0.0025 * (second - 60) + 0.0042 * dice.normal() }));
        if (regime.sag) return second - 60;
      }
      return Infinity;
    }).sort((a, b) => a - b);
    expect(delays[20]).toBeLessThanOrEqual(15);
    expect(delays.at(-1)).toBeLessThan(30);
  });

  it('takes small moves of a hand that add up for what they are, also where readings are missing', () => {
    let sags = 0;
    for (let run = 0; run < 60; run += 1) {
      const dice = SeededRandom.named(9_100 + run, 'hand');
      const regime = running();
      const lostS = 118 + Math.floor(dice.between(0, 8));
      for (let second = 60; second < 180; second += 1) {
        const lost = second >= lostS && second < lostS + 6;
        const speedRatio = (second < 120 ? 0.977 : 0.945) + 0.0042 * dice.normal();
        regime.observe(frame(second, lost ? { speedMs: (lostS - 1) * 1_000 } : { speedRatio }));
        if (regime.sag) sags += 1;
      }
    }
    expect(sags).toBe(0);
  });

  it('does not call a slow start a dead-head because the pump ran down against its valve minutes ago', () => {
    const regime = running();
    const pinched = { flowM3s: 0, dischargePa: 1_400_000 };
    for (let second = 60; second < 64; second += 1) regime.observe(frame(second, pinched));
    for (let second = 64; second < 300; second += 1)
      regime.observe(frame(second, { speedRatio: 0, dischargePa: 40_000, flowM3s: 0 }));
    regime.observe(frame(300, pinched));
    expect(regime.state).toBe('starting');
  });

  it('calls high pressure without flow a dead-head after 7 s, and neither one second nor one lone reading of it', () => {
    const regime = running();
    regime.observe(frame(60, { dischargePa: 1_440_000, flowM3s: 0 }));
    for (let second = 61; second < 75; second += 1)
      regime.observe(frame(second, { dischargePa: 1_440_000, flowM3s: 0, speedMs: 60_000 }));
    expect(regime.state).toBe('running');
    for (let second = 61; second < 68; second += 1)
      regime.observe(frame(second, { dischargePa: 1_440_000, flowM3s: 0 }));
    expect(regime.state).toBe('dead-head');
  });

  it('sees a pump that turns without making pressure', () => {
    const regime = running();
    regime.observe(frame(60, { dischargePa: 2_000, flowM3s: 0 }));
    expect(regime.dryRunningMs).toBe(60_000);
  });

  it('is dry too where the hills that it filled press back on it, and not while water goes through it', () => {
    const regime = running();
    regime.observe(frame(60, { dischargePa: 35_000, flowM3s: 0 }));
    expect(regime.dryRunningMs).toBe(60_000);
    regime.observe(frame(61, { dischargePa: 35_000, flowM3s: 0.008 }));
    expect(regime.dryRunningMs).toBeNull();
  });

  it('is unknown, not stopped, without data', () => {
    const regime = running();
    regime.observe(frame(60, { dischargePa: null, speedRatio: null, flowM3s: null }));
    expect(regime.state).toBe('unknown');
    expect(regime.hasRun).toBe(true);
  });
});
