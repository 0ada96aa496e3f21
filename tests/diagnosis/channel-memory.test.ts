/** What a channel keeps of what it hears. */
import { expect, it } from 'vitest';
import { Channel } from '../../gateway/core/telemetry/channel.ts';
import { siteLayout } from '../support/drive.ts';

it('a device that floods fills no memory: the newest stay, and the mean of the last seconds with them', () => {
  const channel = new Channel(siteLayout('larch-cove').sensors.find(({ id }) => id === 'end-c-pressure')!);
  for (let atMs = 0; atMs < 50_000; atMs += 1)
    channel.take({
      channel: 'end-c-pressure',
      value: 400_000 + (atMs % 977),
      atMs,
      receivedMs: atMs,
      deviceMs: atMs,
      grade: 'good',
    });
  const kept = channel.between(-1, 50_000);
  expect(kept.length).toBeLessThanOrEqual(6_000);
  expect(kept.at(-1)!.atMs).toBe(49_999);
  expect(channel.mean(48_999, 49_999)).not.toBeNull();
});
