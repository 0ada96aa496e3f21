/** The tracks behind the charts: when the past is asked for, and how long what nobody draws is kept. */
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { Picture } from '../../config/wire/wire.ts';
import { trends } from '../../ui/state/trends.svelte.ts';
import { blankChannel, blankPicture } from '../support/blank-picture.ts';

const START = Date.UTC(2026, 6, 14, 6);
const DRAWN = 'trends-drawn';
const ASIDE = 'trends-aside';
const shown = (second: number): Picture => {
  const atMs = START + 1_000 * second;
  return blankPicture(atMs, {
    channels: [DRAWN, ASIDE].map((channel) => blankChannel(channel, { atMs, value: 1, freshness: 'fresh' })),
  });
};

let asked: URLSearchParams[] = [];
beforeEach(() => {
  asked = [];
  trends.forget();
  vi.stubGlobal('fetch', (address: string) => {
    asked.push(new URLSearchParams(address.split('?')[1]));
    return Promise.reject(new TypeError('no way there'));
  });
});
afterEach(() => {
  trends.drop(DRAWN);
  trends.drop(ASIDE);
  trends.forget();
  vi.unstubAllGlobals();
});

describe('the past of a chart', () => {
  it('is asked for once the first picture tells the time, ten minutes back, and again only after a hole', () => {
    trends.track(DRAWN);
    expect(asked).toEqual([]);
    trends.take(shown(0), false);
    expect(asked.map(String)).toEqual([`channel=${DRAWN}&from=${START - 600_000}&to=${START}`]);
    trends.take(shown(1), false);
    expect(asked).toHaveLength(1);
    trends.take(shown(60), true);
    expect(asked).toHaveLength(2);
  });

  it('is kept for ten minutes of what nobody draws, thrown away a minute at a time', () => {
    for (let second = 0; second <= 1_800; second += 10) trends.take(shown(second), false);
    const oldestS = (START + 1_800_000 - trends.track(ASIDE).atMs[0]!) / 1_000;
    expect(oldestS).toBeGreaterThanOrEqual(600);
    expect(oldestS).toBeLessThanOrEqual(660);
  });
});

describe('a chart while no picture comes', () => {
  it('runs on in steps of five seconds from the last one, so that the gap is seen to grow', () => {
    trends.runOn(20_000);
    expect(trends.nowMs).toBe(0);
    trends.take(shown(0), false);
    const edges = [4_900, 5_000, 12_000].map((silentMs) => {
      trends.runOn(silentMs);
      return (trends.nowMs - START) / 1_000;
    });
    expect(edges).toEqual([0, 5, 10]);
  });
});
