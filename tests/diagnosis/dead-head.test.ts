/**
 * A pump against a shut lay, told from whatever is heard of it: how it begins, stands while gauges go missing, and
 * ends. Common practice, no source.
 */
import { describe, expect, it } from 'vitest';
import { DeadHead, isShutIn, toldAfterMs, type DeadHeadFrame } from '../../gateway/core/diagnosis/pump/dead-head.ts';
import type { Outlet } from '../../gateway/core/diagnosis/pump/outlet.ts';

const SHUT_OFF = 1_450_000;
const RUNS = 600_000;
const RATED_FLOW = 0.0117;

/** Line ends as told; the lay takes as much as the pump gives at 600 kPa, and more at more. */
function outlet(ends: Outlet['ends'], openEnds = 5, balance: Partial<ReturnType<Outlet['balance']>> = {}): Outlet {
  return {
    ends,
    openEnds,
    hillsPa: 60_000,
    balance: () => ({ givesM3s: 0.008, takesM3s: 0.008, burstM3s: 0.02, ...balance }),
  };
}

function frame(second: number, over: Partial<DeadHeadFrame> = {}): DeadHeadFrame {
  return {
    atMs: second * 1_000,
    measuredMs: second * 1_000,
    speedRatio: 1,
    dischargePa: RUNS,
    flowM3s: null,
    shutOffPa: SHUT_OFF,
    ratedShutOffPa: SHUT_OFF,
    ratedFlowM3s: RATED_FLOW,
    pressed: true,
    full: true,
    outlet: outlet('up'),
    ...over,
  };
}

const SHUT = { dischargePa: 0.99 * SHUT_OFF, outlet: outlet('gone') };
const NOTHING = { speedRatio: null, dischargePa: null, flowM3s: null, shutOffPa: null, outlet: outlet('unclear', 0) };

/** Runs well for a minute, then so many seconds of `over`. */
function after(seconds: number, over: Partial<DeadHeadFrame>, well: Partial<DeadHeadFrame> = {}): DeadHead {
  const one = new DeadHead();
  for (let second = 0; second < 60; second += 1) one.observe(frame(second, well));
  expect(one.stands).toBe(false);
  for (let second = 60; second < 60 + seconds; second += 1) one.observe(frame(second, over));
  return one;
}

describe('without a flow meter', () => {
  it('stands after seven seconds in which the pressure held and every line end was gone', () => {
    expect(after(7, SHUT).stands).toBe(false);
    const one = after(8, SHUT);
    expect(one.stands).toBe(true);
    expect(one.sinceMs).toBe(60_000);
  });

  it('is none where the pressure fell with the line ends, as it does behind a burst hose, however long', () => {
    const fallen = { dischargePa: 0.9 * RUNS, outlet: outlet('gone') };
    expect(after(100, { ...fallen, shutOffPa: null, speedRatio: null }).stands).toBe(false);
    expect(after(100, fallen).stands).toBe(false);
  });

  it('takes more than a gauge that reads nothing where one line runs alone: the pressure must have risen', () => {
    const alone = { outlet: outlet('gone', 1), shutOffPa: null, speedRatio: null };
    expect(after(30, { ...alone, dischargePa: RUNS }).stands).toBe(false);
    expect(after(30, { ...alone, dischargePa: 1.05 * RUNS }).stands).toBe(true);
  });

  it('is none while one line end is up, also at shut-off pressure: one small line may run alone', () => {
    expect(after(100, { dischargePa: 0.97 * SHUT_OFF, outlet: outlet('up', 1) }).stands).toBe(false);
  });

  it('shows in the pressure alone where the lay would take far more than the pump can give at it', () => {
    const high = { dischargePa: 0.99 * SHUT_OFF };
    const blind = (givesM3s: number): Partial<DeadHeadFrame> => ({
      ...high,
      outlet: outlet('unclear', 0, { givesM3s, takesM3s: 0.012 }),
    });
    expect(after(20, blind(0.004)).stands).toBe(true);
    expect(after(20, blind(0.009)).stands, 'a pump that runs near shut-off anyway').toBe(false);
    expect(isShutIn(0.004, 0.012)).toBe(true);
    expect(isShutIn(NaN, NaN), 'nothing known').toBe(false);
  });

  it('stands where every gate is told to be shut, and the pump presses', () => {
    expect(after(20, { ...SHUT, outlet: outlet('unclear', 0, { takesM3s: 0 }) }).stands).toBe(true);
  });

  it('is waited for while a lay may still be filling through a gate that is cracked open', () => {
    const cracked = {
      dischargePa: 0.99 * SHUT_OFF,
      full: false,
      outlet: outlet('gone', 5, { givesM3s: 0.004, takesM3s: 0.012 }),
    };
    expect(after(40, cracked).stands).toBe(false);
    expect(after(47, cracked).stands).toBe(true);
  });
});

describe('without a speed', () => {
  const unheard = { speedRatio: null, shutOffPa: null };

  it('is no flow at a pressure that no hill holds', () => {
    expect(after(10, { ...unheard, ...SHUT, flowM3s: 0 }, { flowM3s: 0.008 }).stands).toBe(true);
    const hills = { ...unheard, flowM3s: 0, dischargePa: 80_000, outlet: outlet('gone') };
    expect(after(60, hills, { flowM3s: 0.008 }).stands).toBe(false);
  });

  it('is none where a line end is up: then it is the flow meter that reads nothing', () => {
    expect(after(60, { ...unheard, flowM3s: 0 }, { flowM3s: 0.008 }).stands).toBe(false);
  });
});

describe('without a discharge pressure', () => {
  it('is told as unsure where the pump turns and nothing is left of flow or line ends, and not at all without speed', () => {
    const mute = { dischargePa: null, pressed: false };
    const one = after(30, { ...mute, outlet: outlet('gone') });
    expect(one.stands && one.doubtful).toBe(true);
    expect(after(30, { ...mute, flowM3s: 0, outlet: outlet('unclear', 0) }).doubtful).toBe(true);
    expect(after(30, { ...mute, speedRatio: null, outlet: outlet('gone') }).stands).toBe(false);
    expect(after(30, { ...mute, full: false, outlet: outlet('gone') }).stands, 'a lay that fills').toBe(false);
    expect(after(30, { ...mute, outlet: outlet('up') }).stands).toBe(false);
  });
});

describe('once it stands', () => {
  const course = (one: DeadHead, fromS: number, seconds: number, over: Partial<DeadHeadFrame>): void => {
    for (let second = fromS; second < fromS + seconds; second += 1) one.observe(frame(second, over));
  };

  it('no reading that goes missing ends it, and it goes on as the same when readings are back', () => {
    const one = after(20, SHUT);
    course(one, 80, 600, NOTHING);
    expect(one.stands).toBe(true);
    course(one, 680, 5, SHUT);
    expect(one.stands).toBe(true);
    expect(one.sinceMs).toBe(60_000);
    expect(one.doubtful).toBe(false);
  });

  it('ends where a line end comes up again, where water flows, and where the pressure has fallen', () => {
    for (const over of [{ outlet: outlet('up') }, { flowM3s: 0.006 }, { dischargePa: 0.6 * SHUT_OFF }]) {
      const one = after(20, SHUT);
      course(one, 80, 2, { ...NOTHING, ...SHUT, outlet: outlet('unclear', 0), ...over });
      expect(one.stands, JSON.stringify(over)).toBe(false);
    }
  });

  it('ends where the pump is stopped', () => {
    const one = after(20, SHUT);
    one.clear();
    expect(one.sinceMs).toBeNull();
  });
});

describe('with a pump box that is read seldom', () => {
  const told = (everyS: number): number => {
    const one = new DeadHead();
    for (let second = 0; second < 300; second += 1) {
      const readS = Math.floor(second / everyS) * everyS;
      one.observe(frame(second, { measuredMs: 1_000 * readS, ...(readS >= 120 ? SHUT : {}) }));
      if (one.stands) return second - 120;
    }
    return Infinity;
  };

  it('is told by its second reading, or after three quarters of a minute by the one that there is', () => {
    expect([1, 5, 10, 30, 60].map(told)).toEqual([7, 10, 10, 30, 45]);
    expect([1, 5, 10, 30, 60].map((everyS) => toldAfterMs(1_000 * everyS) / 1_000)).toEqual([7, 10, 10, 30, 45]);
  });
});
