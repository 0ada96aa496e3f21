/**
 * What was heard and how old it is: both clocks, values between pictures, a kept picture, and nothing after it was
 * forgotten. The screen's own state, driven with invented pictures.
 */
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { ChannelNews, Picture } from '../../config/wire/wire.ts';
import { heard, NOT_LIVE_S } from '../../ui/state/heard.svelte.ts';
import { BLANK_FEED, blankChannel, blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout } = demoSite();
const START_MS = Date.UTC(2026, 6, 14, 12);
const ID = layout.sensors[0]!.id;

function picture(atMs: number, valueMs: number | null, simulated = true): Picture {
  const value = valueMs === null ? null : 100;
  return blankPicture(atMs, { simulated, channels: [blankChannel(ID, { value, atMs: valueMs, freshness: 'fresh' })] });
}

function take(shown: Picture): void {
  heard.take({ type: 'picture', picture: shown, feed: BLANK_FEED });
}

function news(atMs: number | null, value: number, simulated = true): void {
  const one: ChannelNews = { channel: ID, value, atMs, freshness: 'fresh', doubt: null };
  heard.takeValues({ type: 'values', simulated, values: [one] });
}

function pass(ms: number): void {
  vi.advanceTimersByTime(ms);
  heard.tick();
}

beforeEach(() => {
  vi.useFakeTimers({ now: START_MS, toFake: ['Date', 'performance'] });
  heard.forget();
  heard.expect(layout.sensors);
});
afterEach(() => void vi.useRealTimers());

describe('the age of what was heard', () => {
  it('grows with the wall, and past fifteen seconds nothing is live and every value is doubtful', () => {
    take(picture(START_MS, START_MS - 2_000));
    expect([heard.live, heard.dataAgeS, heard.sinceS(START_MS - 5_000)]).toEqual([true, 2, 5]);
    pass(1_000 * NOT_LIVE_S - 1);
    expect(heard.live).toBe(true);
    pass(1);
    expect([heard.live, heard.dataAgeS, heard.sinceS(START_MS - 5_000)]).toEqual([false, 17, 20]);
    expect(heard.ageS(heard.channel(ID))).toBe(17);
    expect(heard.picture).not.toEqual(heard.last);
    take(picture(START_MS + 15_000, START_MS + 15_000));
    expect([heard.live, heard.dataAgeS, heard.silentS]).toEqual([true, 0, 0]);
  });

  it('grows where the wall is set back, and where one clock stood in sleep', () => {
    take(picture(START_MS, START_MS));
    vi.setSystemTime(START_MS - 3_600_000);
    pass(20_000);
    expect(heard.silentS).toBe(20);
    take(picture(START_MS, START_MS));
    vi.setSystemTime(Date.now() + 2_400_000);
    heard.tick();
    expect(heard.silentS).toBe(2_400);
  });

  it('is none of a channel that has never spoken, nor before any picture', () => {
    expect([heard.dataAgeS, heard.ageS(null), heard.sinceS(START_MS)]).toEqual([null, null, 0]);
    take(picture(START_MS, null));
    expect([heard.dataAgeS, heard.ageS(heard.channel(ID))]).toEqual([null, null]);
  });
});

describe('values between pictures', () => {
  it('are shown where they are newer than the picture, and of no other kind of run', () => {
    take(picture(START_MS, START_MS));
    expect(heard.newest(ID)?.value).toBe(100);
    news(START_MS + 200, 107);
    expect(heard.newest(ID)).toMatchObject({ value: 107, atMs: START_MS + 200 });
    expect(heard.channel(ID)?.value).toBe(100);
    news(START_MS + 400, 3, false);
    expect(heard.newest(ID)?.value).toBe(107);
    news(START_MS - 400, 5);
    expect(heard.newest(ID)?.value).toBe(100);
    news(null, 7);
    expect(heard.newest(ID)?.value).toBe(100);
  });

  it('are the first of a channel whose place in the picture is empty', () => {
    take(picture(START_MS, null));
    news(START_MS, 42);
    expect(heard.newest(ID)?.value).toBe(42);
  });

  it('are not shown once nothing is live, nor after all was forgotten', () => {
    take(picture(START_MS, START_MS));
    news(START_MS + 200, 107);
    pass(1_000 * NOT_LIVE_S);
    expect(heard.newest(ID)?.value).not.toBe(107);
    heard.forget();
    expect([heard.last, heard.picture, heard.newest(ID)]).toEqual([null, null, null]);
    take(picture(START_MS, START_MS));
    expect(heard.newest(ID)?.value).toBe(100);
  });
});

describe('a picture kept on this device', () => {
  it('is as old as its hearing, never live, and gives way to what is heard', () => {
    heard.recall({
      screen: 'a',
      site: { type: 'site', layout, run: 'one', build: 'a', startedMs: 0 },
      picture: picture(START_MS - 60_000, START_MS - 61_000),
      feed: BLANK_FEED,
      replay: null,
      heardMs: START_MS - 60_000,
    });
    heard.tick();
    expect([heard.live, heard.isKept, heard.silentS, heard.dataAgeS]).toEqual([false, true, 60, 61]);
    take(picture(START_MS, START_MS));
    expect([heard.live, heard.isKept, heard.silentS]).toEqual([true, false, 0]);
  });
});
