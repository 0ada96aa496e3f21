/**
 * A device whose clock is slow by a steady amount is live; a backlog is not. Order of events: common practice, no
 * source.
 */
import { describe, expect, it } from 'vitest';
import { Channel } from '../../gateway/telemetry/channel.ts';
import { siteLayout } from '../support/drive.ts';

const sensor = siteLayout('larch-cove').sensors.find(({ id }) => id === 'end-c-pressure')!;

function taken(channel: Channel, atMs: number, receivedMs: number): void {
  channel.take({
    channel: sensor.id,
    value: 400_000 + (receivedMs % 977),
    atMs,
    receivedMs,
    deviceMs: atMs,
    grade: 'good',
  });
}

describe('a slow device clock', () => {
  it('is learned from five deliveries that are as late as each other, and forgotten when it is set right', () => {
    const channel = new Channel(sensor);
    for (let second = 0; second < 4; second += 1) taken(channel, second * 1_000 - 240_000, second * 1_000);
    expect(channel.freshness(4_000)).toBe('stale');
    for (let second = 4; second < 30; second += 1) taken(channel, second * 1_000 - 240_000, second * 1_000);
    expect(channel.behindMs).toBeCloseTo(240_000, -2);
    expect(channel.freshness(30_000)).toBe('fresh');
    expect(channel.latest!.atMs).toBe(29_000);
    for (let second = 30; second < 40; second += 1) taken(channel, second * 1_000, second * 1_000);
    expect(channel.behindMs).toBe(0);
    expect(channel.freshness(40_000)).toBe('fresh');
  });

  it('is not read into a backlog, in one batch or in several', () => {
    const one = new Channel(sensor);
    for (let second = 0; second < 200; second += 1) taken(one, second * 1_000, 300_000);
    expect(one.behindMs).toBe(0);
    expect(one.freshness(300_000)).toBe('stale');
    const several = new Channel(sensor);
    for (let batch = 0; batch < 8; batch += 1) {
      for (let second = 0; second < 30; second += 1)
        taken(several, (batch * 30 + second) * 1_000, 300_000 + batch * 1_000);
    }
    expect(several.behindMs).toBe(0);
  });

  it('is not read into a radio link that is a few seconds late', () => {
    const channel = new Channel(sensor);
    for (let second = 0; second < 60; second += 1) taken(channel, second * 1_000 - 5_000, second * 1_000);
    expect(channel.behindMs).toBe(0);
    expect(channel.freshness(59_000)).not.toBe('stale');
  });

  it('leaves no lag between the two that is neither put right nor fresh', () => {
    for (let lagMs = 0; lagMs < 20_000; lagMs += 500) {
      const channel = new Channel(sensor);
      for (let second = 0; second < 60; second += 1)
        taken(channel, second * 1_000 - lagMs - (second % 5) * 400, second * 1_000);
      expect(channel.freshness(59_900), `${lagMs} ms`).not.toBe('stale');
    }
  });
});

describe('a clock that was never set', () => {
  /** Time of receipt is filed, as ingest does; the device counts from its start. */
  const sent = (channel: Channel, deviceMs: number, receivedMs: number, value: number): void =>
    channel.take({ channel: sensor.id, value, atMs: receivedMs, receivedMs, deviceMs, grade: 'good' });

  it('dates a backlog by its own seconds, so that nothing old is taken for new', () => {
    const channel = new Channel(sensor);
    for (let second = 0; second < 60; second += 1)
      sent(channel, second * 1_000, 5_000_000 + second * 1_000, 300_000 + second);
    for (let second = 60; second < 200; second += 1) sent(channel, second * 1_000, 5_200_000, 300_000 + second);
    expect(channel.latest!.value).toBe(300_199);
    expect(channel.latest!.atMs / 1_000, 'seconds; a thousandth of the gap is left for drift').toBeCloseTo(5_199, 0);
    expect(channel.between(5_099_500, 5_100_500).map(({ value }) => value)).toEqual([300_100]);
  });

  it('that starts again is dated anew at once, and one that overtakes is not taken for a start', () => {
    const channel = new Channel(sensor);
    for (let second = 0; second < 60; second += 1)
      sent(channel, second * 1_000, 5_000_000 + second * 1_000, 1_000 + second);
    sent(channel, 57_500, 5_061_000, 7);
    expect(channel.latest!.value).toBe(1_059);
    sent(channel, 200, 5_070_000, 8);
    expect(channel.latest).toMatchObject({ value: 8, atMs: 5_070_000 });
  });
});

it('a device that floods fills no memory: the newest stay, and the mean of the last seconds with them', () => {
  const channel = new Channel(sensor);
  for (let reading = 0; reading < 50_000; reading += 1) taken(channel, reading, reading);
  const kept = channel.between(-1, 50_000);
  expect(kept.length).toBeLessThanOrEqual(6_000);
  expect(kept.at(-1)!.atMs).toBe(49_999);
  expect(channel.mean(48_999, 49_999)).not.toBeNull();
});
