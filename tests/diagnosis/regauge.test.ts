/**
 * A gauge that is swapped or tared after a baseline: its own band is wide again, and those of the others stay as narrow
 * as they were.
 */
import { describe, expect, it } from 'vitest';
import { sensorFindings } from '../../gateway/core/diagnosis/sensors/sensor-findings.ts';
import { Channel } from '../../gateway/core/telemetry/channel.ts';
import { Drive, siteLayout } from '../support/drive.ts';

describe('another gauge, or another zero', () => {
  it('opens the band of that gauge alone', () => {
    const drive = new Drive(siteLayout('larch-cove'), { seed: 9_411 });
    drive.run(200);
    const width = (channel: string): number => {
      const { low, high } = drive.picture.channels.find((one) => one.channel === channel)!;
      return high! - low!;
    };
    const unwalked = width('end-a-pressure');
    expect(drive.baseline()).toBeNull();
    drive.run(30);
    const walked = [width('end-a-pressure'), width('end-b-pressure')];
    expect(
      drive.watch.enter(
        { kind: 'assign', by: 'AB', device: 'spare', record: 'p', sensor: 'end-a-pressure' },
        drive.simulation.nowMs + 950,
      ),
    ).toBeNull();
    drive.run(5);
    expect(width('end-a-pressure')).toBeGreaterThan(1.15 * walked[0]!);
    expect(width('end-a-pressure')).toBeLessThanOrEqual(1.05 * unwalked);
    expect(width('end-b-pressure')).toBeLessThan(1.05 * walked[1]!);
    expect(drive.picture.baseline).not.toBeNull();
    expect(drive.picture.notes[0]?.words).toContain(
      "'p' of 'spare' measures there from now on. Its band is wide until the next baseline",
    );
    drive.run(60);
    expect(drive.standing).toEqual([]);
  });
});

describe('a device that falls silent', () => {
  it('takes with it what it measures now, and not the place that another was given', () => {
    const { sensors } = siteLayout('larch-cove');
    const channels = sensors.map((sensor) => new Channel(sensor));
    const suction = channels.find(({ sensor }) => sensor.id === 'suction')!;
    suction.setDevice('spare');
    for (const channel of channels)
      if (channel.device !== 'pump-box')
        channel.take({
          channel: channel.sensor.id,
          value: 1,
          atMs: 99_000,
          receivedMs: 99_000,
          deviceMs: null,
          grade: 'good',
        });
    const found = sensorFindings(channels, { startedMs: 0, awayFromMs: 0, awayToMs: 0 }, 100_000);
    expect(found.map(({ cause, places }) => [cause, places.map(({ id }) => id)])).toEqual([
      ['sensor-silent', ['discharge', 'flow', 'speed', 'level', 'fuel', 'air']],
    ]);
  });

  it('is not one that the gateway did not listen to: the time that it was away counts for nothing', () => {
    const channels = siteLayout('larch-cove').sensors.map((sensor) => new Channel(sensor));
    const slowestMs = 8_000 * Math.max(...channels.map(({ sensor }) => sensor.intervalS));
    for (const channel of channels)
      channel.take({
        channel: channel.sensor.id,
        value: 1,
        atMs: 100_000,
        receivedMs: 100_000,
        deviceMs: null,
        grade: 'good',
      });
    const silentAt = (nowMs: number): number =>
      sensorFindings(channels, { startedMs: 0, awayFromMs: 110_000, awayToMs: 310_000 }, nowMs).length;
    expect(silentAt(340_000)).toBe(0);
    expect(silentAt(310_000 + Math.max(60_000, slowestMs))).toBe(1);
  });

  it.each([10, 60])('may lose eight readings in a row at one in %i s', (intervalS) => {
    const [sensor] = siteLayout('larch-cove').sensors;
    const channel = new Channel({ ...sensor!, intervalS });
    channel.take({ channel: sensor!.id, value: 1, atMs: 100_000, receivedMs: 100_000, deviceMs: null, grade: 'good' });
    const found = (readings: number): number =>
      sensorFindings([channel], { startedMs: 0, awayFromMs: 0, awayToMs: 0 }, 100_000 + readings * intervalS * 1_000)
        .length;
    expect([found(7.9), found(8.1)]).toEqual([0, 1]);
  });
});
