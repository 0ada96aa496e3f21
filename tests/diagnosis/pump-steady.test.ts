/**
 * When a pump counts as steady: what moved while its readings were lost is seen against the last one before. Common
 * practice, no source.
 */
import { expect, it } from 'vitest';
import { PumpSide } from '../../gateway/core/diagnosis/model/pump-side.ts';
import { PumpWatch } from '../../gateway/core/diagnosis/pump/pump-watch.ts';
import { Channel } from '../../gateway/core/telemetry/channel.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const sensors = layout.sensors.filter(({ mounting }) => 'pump' in mounting);

function watched(): {
  readonly watch: PumpWatch;
  readonly hear: (second: number, pressurePa: number, ratio: number) => void;
} {
  const channels = new Map(sensors.map((sensor) => [sensor.id, new Channel(sensor)]));
  const watch = new PumpWatch(layout, layout.pumps[0]!, new PumpSide(layout, 0), channels);
  const hear = (second: number, pressurePa: number, ratio: number): void => {
    for (const { id, quantity, mounting } of sensors) {
      const value =
        quantity === 'rotation'
          ? ratio * layout.pumps[0]!.kit.ratedRotationHz
          : quantity === 'pressure'
            ? mounting.kind === 'discharge'
              ? pressurePa
              : -20_000
            : 0.005;
      channels.get(id)!.take({
        channel: id,
        value,
        atMs: 1_000 * second,
        receivedMs: 1_000 * second,
        deviceMs: 1_000 * second,
        grade: 'good',
      });
    }
  };
  return { watch, hear };
}

it('a throttle step within eight lost seconds is waited out as one that was seen', () => {
  const { watch, hear } = watched();
  for (let second = 0; second <= 20; second += 1) hear(second, 700_000, 0.9);
  expect(watch.motion(20_500)).toBe('still');
  expect(watch.motion(22_500), 'a pressure of two seconds ago is no boundary').toBe('unheard');
  const steady: number[] = [];
  for (let second = 29; second <= 45; second += 1) {
    // The last of the step: slower than what counts as moving by itself.
    hear(second, 880_000 - 12_000 * Math.max(0, 31 - second), 0.98 - 0.004 * Math.max(0, 31 - second));
    if (watch.motion(1_000 * second + 500) === 'still') steady.push(second);
  }
  expect(steady[0]).toBeGreaterThanOrEqual(38);
  expect(steady.at(-1)).toBe(45);
});

it('lost seconds in which nothing moved cost no more than themselves', () => {
  const { watch, hear } = watched();
  for (let second = 0; second <= 20; second += 1) hear(second, 700_000, 0.9);
  hear(29, 700_500, 0.901);
  expect(watch.motion(29_500)).toBe('still');
});

it('a hand on the throttle shows in the speed, an open hose in the pressure alone', () => {
  const { watch, hear } = watched();
  for (let second = 0; second <= 20; second += 1) hear(second, 700_000, 0.9);
  hear(21, 716_000, 0.93);
  expect(watch.motion(21_500), 'a thirtieth of the speed, before the pressure has moved by as much').toBe('throttled');
  const open = watched();
  for (let second = 0; second <= 20; second += 1) open.hear(second, 700_000, 0.9);
  open.hear(21, 400_000, 0.9);
  expect(open.watch.motion(21_500)).toBe('falls');
  const shut = watched();
  for (let second = 0; second <= 20; second += 1) shut.hear(second, 700_000, 0.9);
  shut.hear(21, 900_000, 0.9);
  expect(shut.watch.motion(21_500)).toBe('rises');
});
