/**
 * A line end that ice has shut off holds still while the throttle moves the rest. Common practice, no source; the
 * plant's ice is another author's.
 */
import { describe, expect, it } from 'vitest';
import { BlockedTaps } from '../../gateway/core/diagnosis/sensors/blocked-taps.ts';
import type { Motion } from '../../gateway/core/diagnosis/pump/pump-watch.ts';
import { Channel } from '../../gateway/core/telemetry/channel.ts';
import { scoreLay } from '../score/lays.ts';
import { Drive } from '../support/drive.ts';

const layout = scoreLay('larch-cove', 'fast');
const iced = { what: 'sensor-iced', at: 'end-c-pressure', size: 3 };

function throttled(drive: Drive, size: number, seconds: number): void {
  drive.carry({ do: 'start', what: 'throttle', at: layout.pumps[0]!.id, size });
  drive.run(seconds);
}

describe.each([9_231, 9_232])('seed %i', (seed) => {
  it('an iced stub is stuck from the next step of the throttle on, is one alarm, and is taken back at the first step after it has thawed', () => {
    const drive = new Drive(layout, { seed });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.carry({ do: 'start', ...iced });
    drive.run(20);
    throttled(drive, 0.88, 30);
    expect(drive.standing).toEqual(['sensor-stuck end-c-pressure']);
    drive.run(60);
    expect([...drive.raised.keys()]).toHaveLength(1);
    drive.carry({ do: 'repair', ...iced });
    drive.run(10);
    throttled(drive, 0.97, 40);
    expect(drive.standing).toEqual([]);
  });

  it('no sound end is taken for one, nor that of a line whose hose has burst', () => {
    const drive = new Drive(layout, { seed });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    for (const size of [0.87, 1, 0.9]) throttled(drive, size, 30);
    expect(drive.standing).toEqual([]);
    drive.carry({ do: 'start', what: 'hose-burst', at: 'c-hose-2' });
    drive.run(20);
    throttled(drive, 1, 30);
    expect(drive.standing).toEqual(['hose-burst line-c']);
  });
});

it('a frame whose boundary has moved already, though nothing shows as moving yet, is not compared with', () => {
  const sensor = layout.sensors.find(({ id }) => id === 'end-c-pressure')!;
  const channel = new Channel(sensor);
  const gauge = { sensor, kind: 'end', pump: 0, node: 0 } as const;
  const taps = new BlockedTaps([gauge], new Map([[sensor.id, channel]]));
  const second = (at: number, motion: Motion, value: number, expected: number): void => {
    channel.take({
      channel: sensor.id,
      value,
      atMs: 1_000 * at,
      receivedMs: 1_000 * at,
      deviceMs: null,
      grade: 'good',
    });
    taps.observe(1_000 * at, motion, () => expected);
  };
  for (let at = 0; at < 10; at += 1) second(at, 'still', 500_000 + (at % 2), 500_000);
  second(10, 'throttled', 500_000, 500_000);
  // The hand let go at once; then a hose bursts. Its pressure is in the boundary a second before the pump shows as
  // moving.
  for (let at = 11; at < 15; at += 1) second(at, 'still', 500_000 + (at % 2), 500_000);
  second(15, 'still', 500_000, 200_000);
  for (let at = 16; at < 24; at += 1) second(at, at < 19 ? 'falls' : 'still', 200_000 + (at % 2), 200_000);
  expect(taps.blocked.size).toBe(0);
});
