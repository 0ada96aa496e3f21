/** A pump by its own gauges, second by second: its states and what is noted of them, how it moves, when fuel is low. */
import { describe, expect, it } from 'vitest';
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import type { Cause } from '../../config/wire/wire.ts';
import { PumpSide } from '../../gateway/core/diagnosis/model/pump-side.ts';
import type { Outlet } from '../../gateway/core/diagnosis/pump/outlet.ts';
import { SitePumps } from '../../gateway/core/diagnosis/pump/site-pumps.ts';
import { StandstillWatch } from '../../gateway/core/diagnosis/pump/standstill-watch.ts';
import { channelsOf, type Channel } from '../../gateway/core/telemetry/channel.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const pump = layout.pumps[0]!;
const OUTLET: Outlet = {
  ends: 'up',
  openEnds: 1,
  hillsPa: 0,
  balance: () => ({ givesM3s: 0.01, takesM3s: 0.006, burstM3s: 0.01 }),
};

/** What its gauges read; what is not named is not heard. */
interface Gauges {
  /** Over rated speed. */
  readonly speed?: number;
  readonly dischargePa?: number;
  readonly flowM3s?: number;
  readonly fuelM3?: number;
}
const RUNS: Gauges = { speed: 0.95, dischargePa: 700_000, flowM3s: 0.005 };
const STANDS: Gauges = { speed: 0, dischargePa: 0, flowM3s: 0 };

class Site {
  readonly #layout: Layout;
  readonly channels: ReadonlyMap<string, Channel>;
  readonly pumps: SitePumps;
  readonly notes: string[] = [];
  second = 0;

  constructor(site: Layout = layout) {
    this.#layout = site;
    this.channels = channelsOf(site);
    this.pumps = new SitePumps(site, [new PumpSide(site, 0)], this.channels);
  }

  run(seconds: number, gauges: Gauges): void {
    const { kit } = this.#layout.pumps[0]!;
    for (let count = 0; count < seconds; count += 1, this.second += 1) {
      const { speed, dischargePa, flowM3s, fuelM3 } = gauges;
      this.#hear(
        ({ quantity }) => quantity === 'rotation',
        speed === undefined ? undefined : speed * kit.ratedRotationHz,
      );
      this.#hear(({ quantity, mounting }) => quantity === 'pressure' && mounting.kind === 'discharge', dischargePa);
      this.#hear(({ quantity }) => quantity === 'flow', flowM3s);
      this.#hear(({ quantity }) => quantity === 'fuel', fuelM3);
      this.notes.push(...this.pumps.observe(this.nowMs, null, () => OUTLET));
    }
  }
  get nowMs(): number {
    return 1_000_000 + 1_000 * this.second;
  }
  /** No two readings are the same to the last digit: else they would be stuck. */
  #hear(fits: (sensor: Sensor) => boolean, value: number | undefined): void {
    const sensor = this.#layout.sensors.find((one) => 'pump' in one.mounting && fits(one));
    if (!sensor || value === undefined) return;
    const atMs = this.nowMs - 100;
    const read = value * (1 + 1e-6 * (this.second % 7));
    this.channels
      .get(sensor.id)!
      .take({ channel: sensor.id, value: read, atMs, receivedMs: atMs, deviceMs: atMs, grade: 'good' });
  }
}

function running(gauges: Gauges = RUNS): Site {
  const site = new Site();
  site.run(5, STANDS);
  site.run(10, gauges);
  site.pumps.filled(site.nowMs);
  site.run(10, gauges);
  return site;
}

describe('the state of a pump', () => {
  it('is noted when it changes, and not before anything was known or while nothing changes', () => {
    const site = running();
    site.run(10, STANDS);
    const changes = site.notes.filter((words) => words.includes(' -> '));
    expect(changes).toEqual([`${pump.label}: stopped -> starting`, `${pump.label}: running -> stopped`]);
  });

  it('lets water through the lay while it starts and while it runs, not while it stands still', () => {
    const site = new Site();
    site.run(5, STANDS);
    expect([site.pumps.state, site.pumps.flows]).toEqual(['stopped', false]);
    site.run(5, RUNS);
    expect([site.pumps.state, site.pumps.flows]).toEqual(['starting', true]);
    site.pumps.filled(site.nowMs);
    site.run(5, RUNS);
    expect([site.pumps.state, site.pumps.flows]).toEqual(['running', true]);
  });
});

describe('how a pump moves', () => {
  const motion = (site: Site): string => site.pumps.motion(site.nowMs - 1_000);

  it('is not at all while speed and pressure hold, by its throttle when the speed goes, alone by pressure when a hose parts', () => {
    const site = running();
    expect(motion(site)).toBe('still');
    site.run(2, { ...RUNS, dischargePa: 600_000 });
    expect(motion(site)).toBe('falls');
    site.run(10, RUNS);
    site.run(2, { ...RUNS, speed: 0.85, dischargePa: 600_000 });
    expect(motion(site)).toBe('throttled');
  });

  it('is not known by one reading of its pressure after a minute without any: nobody saw whether it moved', () => {
    const site = running();
    site.run(60, { speed: RUNS.speed! });
    site.run(1, RUNS);
    expect(motion(site)).not.toBe('still');
    site.run(3, RUNS);
    expect(motion(site)).toBe('still');
  });
});

it('the mean speed of a spell is told over rated speed; without one nothing is', () => {
  const [watch] = new Site().pumps.each;
  expect(watch!.meanSpeedRatio(() => 0.9 * pump.kit.ratedRotationHz)).toBeCloseTo(0.9, 12);
  expect(watch!.meanSpeedRatio(() => NaN)).toBeNull();
});

describe('fuel', () => {
  const warned = (site: Site): boolean => site.pumps.findings.some(({ cause }) => cause === 'fuel-low');
  /** That lasts so long at the use of its sheet, which goes with the cube of the speed (affinity of power). */
  const lasting = (seconds: number): number => seconds * pump.kit.fuelUseM3s * RUNS.speed! ** 3;
  const lowS = Math.max(2_700, 2 * pump.refillS);

  it('is low under three quarters of an hour or two refills, and stays so until there is a third more', () => {
    const site = running({ ...RUNS, fuelM3: lasting(1.05 * lowS) });
    if (!layout.sensors.some(({ quantity }) => quantity === 'fuel')) throw new Error('This site has no fuel gauge.');
    expect(warned(site)).toBe(false);
    site.run(5, { ...RUNS, fuelM3: lasting(0.95 * lowS) });
    expect(warned(site)).toBe(true);
    site.run(5, { ...RUNS, fuelM3: lasting(1.3 * lowS) });
    expect(warned(site), 'a slop in the tank clears nothing').toBe(true);
    site.run(5, { ...RUNS, fuelM3: lasting(1.4 * lowS) });
    expect(warned(site)).toBe(false);
  });
});

describe('a lay behind a pump that stands still', () => {
  const quarry = siteLayout('quarry-road');
  /** Its heads lie well above its outlet: a lay that holds its water keeps more than this on the gauge. */
  const DRAINED: Gauges = { ...STANDS, dischargePa: -15_000 };

  /** Seconds after the stop in which a check valve that leaks back is told; null: none of 60. */
  function toldAfter(
    ranS: number,
    mode: 'draining' | null = null,
    ofLay: readonly { cause: Cause; subject: string }[] = [],
  ): number | null {
    const site = new Site(quarry);
    const watch = new StandstillWatch(quarry);
    const told = (): boolean => watch.observe(site.nowMs, mode, site.pumps.each, ofLay).length > 0;
    site.run(5, STANDS);
    site.run(5, RUNS);
    site.pumps.filled(site.nowMs);
    for (let second = 0; second < ranS; second += 1) {
      site.run(1, RUNS);
      expect(told()).toBe(false);
    }
    for (let second = 1; second <= 60; second += 1) {
      site.run(1, DRAINED);
      if (told()) return second;
    }
    return null;
  }

  it('is told to have drained once that has lasted a quarter of a minute', () => {
    const after = toldAfter(70);
    expect(after).toBeGreaterThanOrEqual(15);
    expect(after).toBeLessThanOrEqual(17);
  });

  it('is not where it was hardly full, where people drain it, or where it loses water otherwise', () => {
    expect(toldAfter(30)).toBeNull();
    expect(toldAfter(70, 'draining')).toBeNull();
    expect(toldAfter(70, null, [{ cause: 'leak', subject: 'line-n' }])).toBeNull();
  });

  it('is not by a gauge that is said to drift; what another gauge does is of no account', () => {
    const drifts = (subject: string): number | null => toldAfter(70, null, [{ cause: 'sensor-drift', subject }]);
    expect(drifts(quarry.sensors.find(({ mounting }) => mounting.kind === 'discharge')!.id)).toBeNull();
    expect(drifts('end-n-pressure')).not.toBeNull();
  });
});
