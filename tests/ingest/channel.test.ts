/**
 * What a channel holds of its readings: when it is stuck, which cadence it keeps, how long it remembers, and which of two
 * doubts is told. Both sides of each edge that channel.ts gives a reason for; intervals and values are invented.
 */
import { describe, expect, it } from 'vitest';
import type { Sensor } from '../../config/layout/layout.ts';
import { channelPicture, type Concluded } from '../../gateway/core/telemetry/channel-picture.ts';
import { Channel } from '../../gateway/core/telemetry/channel.ts';
import { siteLayout } from '../support/drive.ts';

const END: Sensor = siteLayout('larch-cove').sensors.find(({ id }) => id === 'end-c-pressure')!;

function channelOf(changes: Partial<Sensor> = {}): Channel {
  return new Channel({ ...END, intervalS: 1, noiseSd: 2_000, ...changes });
}

function hear(channel: Channel, atMs: number, value: number, grade: 'good' | 'out-of-range' = 'good'): void {
  channel.take({ channel: END.id, value, atMs, receivedMs: atMs, deviceMs: atMs, grade });
}

/** Readings that differ, so that none is stuck, with these gaps between them. */
function heardEvery(...gapsS: readonly number[]): Channel {
  const channel = channelOf();
  let atMs = 0;
  hear(channel, atMs, 400_000);
  gapsS.forEach((gapS, at) => hear(channel, (atMs += 1_000 * gapS), 400_001 + at));
  return channel;
}

describe('a channel is stuck', () => {
  it('at the twelfth equal reading in a row, eleven seconds after the first of them, and not at the eleventh', () => {
    const channel = channelOf();
    hear(channel, 0, 390_000);
    for (let second = 1; second <= 11; second += 1) hear(channel, 1_000 * second, 400_000);
    expect(channel.stuck()).toBe(false);
    hear(channel, 12_000, 400_000);
    expect(channel.stuck()).toBe(true);
    hear(channel, 13_000, 400_100);
    expect(channel.stuck()).toBe(false);
  });

  it('not by a fast device that has repeated a value often, but for less than eleven seconds', () => {
    const channel = channelOf({ intervalS: 0.5 });
    for (let at = 0; at < 22; at += 1) hear(channel, 500 * at, 400_000);
    expect(channel.stuck()).toBe(false);
    hear(channel, 11_000, 400_000);
    expect(channel.stuck()).toBe(true);
  });
});

describe('the cadence of a channel', () => {
  const EIGHT = (gapS: number): number[] => Array<number>(8).fill(gapS);

  it('is what it keeps once eight readings in a row came more than half an interval late', () => {
    expect(heardEvery(...EIGHT(2).slice(1)).everyMs).toBe(1_000);
    expect(heardEvery(...EIGHT(2)).everyMs).toBe(2_000);
  });

  it('is the stated one where they come late by less than half an interval', () => {
    expect(heardEvery(...EIGHT(1.4)).everyMs).toBe(1_000);
    expect(heardEvery(...EIGHT(1.6)).everyMs).toBe(1_600);
  });

  it('does not follow single gaps of the road: most of the eight must be late', () => {
    expect(heardEvery(1, 1, 1, 10, 1, 1, 1, 1).everyMs).toBe(1_000);
    expect(heardEvery(1, 3, 1, 3, 1, 3, 1, 1).everyMs).toBe(1_000);
    expect(heardEvery(3, 3, 1, 3, 1, 3, 1, 3).everyMs).toBe(3_000);
  });
});

describe('what a channel keeps', () => {
  it('is the newest by the time of measurement: an older one that comes late changes nothing', () => {
    const channel = heardEvery(1, 1);
    hear(channel, 1_500, 333_333);
    expect(channel.latest).toMatchObject({ atMs: 2_000, value: 400_002 });
    hear(channel, 3_000, 333_333);
    expect(channel.latest).toMatchObject({ atMs: 3_000, value: 333_333 });
  });

  it('is no good reading of minutes ago, even where it was the only one and what came since is out of range', () => {
    const channel = channelOf();
    hear(channel, 0, 400_000);
    hear(channel, 329_000, 9e9, 'out-of-range');
    expect(channel.between(-1, 400_000)).toHaveLength(1);
    hear(channel, 331_000, 9e9, 'out-of-range');
    expect(channel.between(-1, 400_000)).toEqual([]);
  });
});

describe('the doubt in the picture of a channel', () => {
  const doubtOf = (channel: Channel, found: Concluded['found']): string | null =>
    channelPicture(channel, 12_000, { band: null, found }).doubt;
  const still = channelOf();
  for (let second = 0; second <= 12; second += 1) hear(still, 1_000 * second, 400_000);
  const past = channelOf();
  hear(past, 12_000, END.max, 'out-of-range');
  const sound = channelOf();
  hear(sound, 12_000, 400_000);

  it('is what its own readings show, also where nothing was concluded', () => {
    expect(doubtOf(still, null)).toBe('stuck');
    expect(doubtOf(past, null)).toBe('over-range');
    expect(doubtOf(sound, null)).toBeNull();
  });

  it('is that it is shut off from what it should measure before all else, and a drift after what its readings show', () => {
    expect(doubtOf(past, 'stuck')).toBe('stuck');
    expect(doubtOf(past, 'drifting')).toBe('over-range');
    expect(doubtOf(sound, 'drifting')).toBe('drifting');
  });
});
