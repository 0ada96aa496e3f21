/** The run's clock: the wall's, or a simulation's between and after its beats. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { RunClock } from '../../gateway/ingest/devices/run-clock.ts';

const WALL = 1_790_000_000_000;
const SIM = 1_780_000_000_000;

describe('the run clock', () => {
  it('is the wall clock while nothing beats', () => {
    expect(new RunClock().now(WALL)).toBe(WALL);
  });

  it('jumps to a simulation, runs at its speed, and never past its next beat by more than a beat', () => {
    const clock = new RunClock();
    clock.now(WALL);
    expect(clock.beat({ timeMs: SIM, speed: 10 }, WALL)).toBe(true);
    expect(clock.beat({ timeMs: SIM + 2_000, speed: 10 }, WALL + 200)).toBe(false);
    expect(clock.now(WALL + 300)).toBe(SIM + 3_000);
    expect(clock.now(WALL + 2_000)).toBe(SIM + 2_000 + 4_000);
  });

  it('goes on at the wall pace when the beats stop, so that data gets stale', () => {
    const clock = new RunClock();
    clock.beat({ timeMs: SIM, speed: 1 }, WALL);
    clock.beat({ timeMs: SIM + 1_000, speed: 1 }, WALL + 1_000);
    expect(clock.now(WALL + 66_000)).toBe(SIM + 3_000 + 60_000);
  });

  it('stands still while a simulation is paused but beating', () => {
    const clock = new RunClock();
    for (let second = 0; second < 20; second += 1) clock.beat({ timeMs: SIM, speed: 0 }, WALL + second * 1_000);
    expect(clock.now(WALL + 20_000)).toBe(SIM);
  });

  it('takes time only from beats when the simulation runs as fast as it can', () => {
    const clock = new RunClock();
    clock.beat({ timeMs: SIM, speed: null }, WALL);
    expect(clock.beat({ timeMs: SIM + 600_000, speed: null }, WALL + 100)).toBe(false);
    expect(clock.now(WALL + 900)).toBe(SIM + 600_000);
  });

  it('says when another simulation has taken over', () => {
    const clock = new RunClock();
    clock.beat({ timeMs: SIM, speed: 1 }, WALL);
    expect(clock.beat({ timeMs: SIM - 100_000, speed: 1 }, WALL + 1_000)).toBe(true);
    expect(clock.now(WALL + 1_000)).toBe(SIM - 100_000);
  });

  it('never goes back unless it says so', () => {
    const step = fc.record({
      wall: fc.nat(3_000),
      beat: fc.option(
        fc.record({ gain: fc.integer({ min: -2_000, max: 9_000 }), speed: fc.constantFrom(0, 1, 3, null) }),
      ),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 40 }), (steps) => {
        const clock = new RunClock();
        let wall = WALL;
        let before = clock.now(wall);
        for (const { wall: passed, beat } of steps) {
          wall += passed;
          const jumped = beat !== null && clock.beat({ timeMs: before + beat.gain, speed: beat.speed }, wall);
          const now = clock.now(wall);
          if (!jumped) expect(now).toBeGreaterThanOrEqual(before);
          before = now;
        }
      }),
    );
  });
});
