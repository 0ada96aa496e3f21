/** A check valve that leaks back, over its whole course: what is said after a stop, and what is not. */
import { describe, expect, it } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import type { Alarm } from '../../config/wire/wire.ts';
import { scoreLay } from '../score/lays.ts';
import { Drive, siteLayout } from '../support/drive.ts';

const SITE = 'quarry-road';

function begin(seed: number, layout: Layout = siteLayout(SITE)): Drive {
  const drive = new Drive(layout, { seed });
  drive.run(120);
  return drive;
}

const valve = (drive: Drive): Alarm | undefined =>
  drive.picture.alarms.find(({ verdict, clearedMs }) => verdict.cause === 'check-valve' && clearedMs === null);
const isNamed = (drive: Drive): boolean => valve(drive) !== undefined;
const sticks = (drive: Drive): void => drive.carry({ do: 'start', what: 'check-valve-stuck', at: 'pump' });
const stop = (drive: Drive): void => drive.carry({ do: 'start', what: 'pump-stop', at: 'pump' });
const restart = (drive: Drive): void => drive.carry({ do: 'repair', what: 'pump-stop', at: 'pump' });
const repair = (drive: Drive): void => drive.carry({ do: 'repair', what: 'check-valve-stuck', at: 'pump' });

describe('a check valve that leaks back', () => {
  it.each([9_101, 9_102, 9_103])(
    'is told within a minute of the stop, and not while the pump runs (seed %i)',
    (seed) => {
      const drive = begin(seed);
      sticks(drive);
      drive.run(90);
      expect(drive.raised.has('check-valve:pump')).toBe(false);
      stop(drive);
      expect(drive.until(60, () => isNamed(drive))).not.toBeNull();
      const { verdict, priority } = valve(drive)!;
      expect(verdict.headline).toContain('check valve leaks back');
      expect(verdict.check).toContain('prime before the next start');
      expect(verdict.alternatives.map(({ words }) => words)).toEqual([
        'leak, trunk',
        'sensor reads wrong, pump discharge',
      ]);
      expect(verdict.evidence[0]!.measured).toBeLessThan(
        verdict.evidence[0]!.expected - verdict.evidence[0]!.tolerance,
      );
      expect(priority).toBe('medium');
    },
  );

  it('is over once the pump makes pressure again, and comes back at the next stop', () => {
    const drive = begin(9_104);
    sticks(drive);
    stop(drive);
    drive.until(60, () => isNamed(drive));
    repair(drive);
    restart(drive);
    expect(drive.until(120, () => !isNamed(drive))).not.toBeNull();
    drive.run(120);
    sticks(drive);
    stop(drive);
    expect(drive.until(60, () => isNamed(drive))).not.toBeNull();
  });

  it('is not told at the next stop once it is repaired', () => {
    const drive = begin(9_105);
    sticks(drive);
    stop(drive);
    drive.until(60, () => isNamed(drive));
    repair(drive);
    restart(drive);
    drive.run(180);
    stop(drive);
    expect(drive.until(180, () => isNamed(drive))).toBeNull();
  });

  it('goes on standing while a pump that lost its prime turns without pressure', () => {
    const drive = begin(9_106);
    sticks(drive);
    stop(drive);
    drive.run(180);
    expect(isNamed(drive)).toBe(true);
    restart(drive);
    drive.run(60);
    expect(drive.simulation.plant.pressurePa[0]!).toBeLessThan(20_000);
    expect(isNamed(drive)).toBe(true);
    expect(drive.standing).toContain('suction-trouble pump');
  });

  it('is told through refuelling, and not while people drain the lay', () => {
    for (const [mode, told] of [
      ['refuelling', true],
      ['draining', false],
    ] as const) {
      const drive = begin(9_107);
      drive.watch.enter({ kind: 'mode', by: 'AB', mode, minutes: 20 }, drive.simulation.nowMs + 950);
      sticks(drive);
      stop(drive);
      expect(drive.until(120, () => isNamed(drive)) !== null).toBe(told);
      expect(drive.picture.setAside.some(({ verdict }) => verdict.cause === 'check-valve')).toBe(false);
    }
  });

  it('is told with a gate shut, and a sound valve is not', () => {
    for (const stuck of [true, false]) {
      const drive = begin(9_108);
      drive.carry({ do: 'start', what: 'gate', at: 'wye-n', size: 0 });
      drive.watch.enter({ kind: 'gate', by: 'AB', gate: 'wye-n', opening: 0 }, drive.simulation.nowMs + 950);
      drive.run(60);
      if (stuck) sticks(drive);
      stop(drive);
      expect(drive.until(120, () => isNamed(drive)) !== null).toBe(stuck);
    }
  });

  it('is not told where a leak was found before the stop: it lets the water out as well', () => {
    const drive = begin(9_109);
    drive.baseline();
    drive.run(30);
    drive.carry({ do: 'start', what: 'hose-burst', at: 'm-hose-1' });
    drive.until(60, () => drive.standing.some((one) => one.startsWith('hose-burst')));
    sticks(drive);
    stop(drive);
    expect(drive.until(120, () => isNamed(drive))).toBeNull();
  });

  it('without its gauge nothing is told, and the screen says that it cannot be seen', () => {
    const layout = siteLayout(SITE);
    const blind = { ...layout, sensors: layout.sensors.filter(({ mounting }) => mounting.kind !== 'discharge') };
    const drive = begin(9_110, blind);
    expect(drive.picture.blind.join(' ')).toContain('a leaking check valve cannot be seen: no gauge at its discharge');
    sticks(drive);
    stop(drive);
    expect(drive.until(120, () => isNamed(drive))).toBeNull();
  });

  it('keeps standing when its gauge falls silent', () => {
    const drive = begin(9_111);
    sticks(drive);
    stop(drive);
    drive.until(60, () => isNamed(drive));
    const { id } = drive.layout.sensors.find(({ mounting }) => mounting.kind === 'discharge')!;
    drive.carry({ do: 'start', what: 'sensor-silent', at: id });
    drive.run(120);
    expect(isNamed(drive)).toBe(true);
  });

  it('says where its lowest head stands too low to show it', () => {
    const drive = begin(9_112, siteLayout('larch-cove'));
    expect(drive.picture.blind.join(' ')).toMatch(/a leaking check valve cannot be seen: its lowest head keeps/);
    sticks(drive);
    stop(drive);
    expect(drive.until(120, () => isNamed(drive))).toBeNull();
  });

  it.each(['larch-cove', 'quarry-road', 'two-lines-8', 'street-60'] as const)(
    'no sound valve of %s is blamed after a stop, a restart and a second stop',
    (name) => {
      for (const seed of name === 'street-60' ? [9_121] : [9_121, 9_122, 9_123, 9_124]) {
        const drive = begin(seed, scoreLay(name, 'fast'));
        stop(drive);
        drive.run(90);
        restart(drive);
        drive.run(150);
        stop(drive);
        drive.run(90);
        expect(drive.raised.has('check-valve:pump')).toBe(false);
      }
    },
  );
});
