/**
 * What the gauge at the pump's discharge does to the verdict on a check valve: it reads under its range, it is silent,
 * it drifts, it speaks seldom, one measurement is wild; and two pumps that empty one lay. Readings are altered between
 * the plant and the core. The lay of quarry-road keeps about 30 kPa on a sound valve.
 */
import { describe, expect, it } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import type { Alarm } from '../../config/wire/wire.ts';
import { withGauges } from '../score/gauge-set.ts';
import { Drive, siteLayout } from '../support/drive.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';

const quarry = siteLayout('quarry-road');
const gauge = quarry.sensors.find(({ mounting }) => mounting.kind === 'discharge')!;

/** `change`: of a reading of the discharge gauge, Pa, and whether the pump stands; null: it is not sent. */
function running(seed: number, change: (pa: number, stands: boolean) => number | null, layout: Layout = quarry): Drive {
  const drive = new Drive(layout, { seed });
  const { simulation } = drive;
  const second = simulation.second.bind(simulation);
  simulation.second = () =>
    second().flatMap((sample) => {
      if (sample.sensor.id !== gauge.id) return [sample];
      const value = change(sample.value, simulation.plant.speedRatio[0]! < 0.03);
      return value === null ? [] : [{ ...sample, value }];
    });
  drive.run(200);
  return drive;
}

const stands = (drive: Drive): Alarm[] =>
  drive.picture.alarms.filter(({ verdict, clearedMs }) => verdict.cause === 'check-valve' && clearedMs === null);
const isNamed = (drive: Drive): boolean => stands(drive).length > 0;
const stick = (drive: Drive, at = 'pump'): void => drive.carry({ do: 'start', what: 'check-valve-stuck', at });
const stop = (drive: Drive, at = 'pump'): void => drive.carry({ do: 'start', what: 'pump-stop', at });

describe('a gauge that reads under its range where the lay has drained', () => {
  it.each([-400, -2_400, -15_000])('%i Pa is told within a minute', (zeroPa) => {
    const drive = running(9_131, (pa, still) => (still ? zeroPa + (pa % 300) : pa));
    stick(drive);
    stop(drive);
    expect(drive.until(60, () => isNamed(drive))).not.toBeNull();
  });

  it('far under it is broken, and nothing is told by it', () => {
    const drive = running(9_132, (pa, still) => (still ? -0.2 * gauge.max + (pa % 300) : pa));
    stick(drive);
    stop(drive);
    expect(drive.until(120, () => isNamed(drive))).toBeNull();
  });
});

describe('one wild measurement', () => {
  it('of a slow box at the stop blames no sound valve', () => {
    let low = true;
    const drive = running(
      9_133,
      (pa, still) => {
        if (!still || !low) return pa;
        low = false;
        return 0;
      },
      withGauges(quarry, 'box=20'),
    );
    stop(drive);
    expect(drive.until(300, () => isNamed(drive))).toBeNull();
    expect(low).toBe(false);
  });

  it('now and then does not end what stands', () => {
    let count = 0;
    const drive = running(9_134, (pa, still) => (still && (count += 1) % 20 === 0 ? 100_000 : pa));
    stick(drive);
    stop(drive);
    expect(drive.until(60, () => isNamed(drive))).not.toBeNull();
    for (let second = 0; second < 120; second += 1) {
      drive.second();
      expect(isNamed(drive)).toBe(true);
    }
  });
});

describe('a gauge that is silent after the restart', () => {
  it('leaves it to the flow meter to say that the lay is full again', () => {
    let isSilent = false;
    const drive = running(9_135, (pa) => (isSilent ? null : pa));
    stick(drive);
    stop(drive);
    drive.until(60, () => isNamed(drive));
    isSilent = true;
    drive.carry({ do: 'repair', what: 'check-valve-stuck', at: 'pump' });
    drive.run(60);
    expect(isNamed(drive)).toBe(true);
    drive.carry({ do: 'repair', what: 'pump-stop', at: 'pump' });
    expect(drive.until(240, () => !isNamed(drive))).not.toBeNull();
  });
});

describe('a gauge whose zero moves', () => {
  it('is named beside the valve as long as nobody can tell them apart, and the valve is not once it is said to drift', () => {
    const plain = running(9_136, (pa) => pa);
    stick(plain);
    stop(plain);
    plain.until(60, () => isNamed(plain));
    expect(
      stands(plain)[0]!
        .verdict.alternatives.map(({ words }) => words)
        .join(),
    ).toMatch(/discharge/);
    let offPa = 0;
    const drive = running(9_137, (pa) => pa - offPa);
    expect(drive.baseline()).toBeNull();
    drive.run(30);
    for (let second = 0; second < 600 && !drive.standing.includes(`sensor-drift ${gauge.id}`); second += 1) {
      offPa = Math.min(offPa + 400, 80_000);
      drive.second();
    }
    expect(drive.standing).toContain(`sensor-drift ${gauge.id}`);
    offPa = 32_000;
    stop(drive);
    expect(drive.until(120, () => isNamed(drive))).toBeNull();
  });
});

const SUCTION = { device: 'b2', min: -100_000, max: 150_000, noiseSd: 750, offsetSd: 1_000 };

describe('two pumps that share one lay', () => {
  it('share the doubt, and each is named as what the other may be', () => {
    const lay = new LayoutBuilder()
      .tank('tank')
      .place('p0', 0.8)
      .place('q0', 0.8)
      .place('t', 1)
      .place('a0', 8)
      .place('a1', 8)
      .pump('pump', 'tank', 'p0')
      .pump('other', 'tank', 'q0')
      .hose('h1', 'p0', 't')
      .hose('h2', 'q0', 't')
      .hose('h3', 't', 'a0')
      .hose('h4', 'a0', 'a1', { line: 'line-a' })
      .head('x1', 'a0')
      .head('x2', 'a1')
      .head('x3', 'a1')
      .head('x4', 'a1')
      .lineEnd('end', 'a1', 'line-a')
      .pumpBox('pump', 'tank')
      .sensor('discharge2', 'pressure', { kind: 'discharge', pump: 'other' }, { device: 'b2' })
      .sensor('suction2', 'pressure', { kind: 'suction', pump: 'other' }, SUCTION)
      .sensor('flow2', 'flow', { kind: 'pump', pump: 'other' }, { device: 'b2' })
      .sensor('speed2', 'rotation', { kind: 'pump', pump: 'other' }, { device: 'b2' })
      .build();
    const drive = new Drive(lay, { seed: 21 });
    drive.run(400);
    stick(drive);
    for (const pump of ['pump', 'other']) stop(drive, pump);
    expect(drive.until(120, () => stands(drive).length === 2)).not.toBeNull();
    for (const { verdict } of stands(drive)) {
      const shares = verdict.alternatives.map(({ probability }) => probability);
      expect(verdict.probability + shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 9);
      expect(verdict.probability).toBeLessThan(0.5);
    }
  });
});
