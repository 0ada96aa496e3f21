/**
 * Clocks of devices, their losses, and what was refused of each, as the screen is told. Behaviour of clocks: common
 * practice, no source.
 */
import { beforeEach, describe, expect, it } from 'vitest';
import type { DevicePicture } from '../../config/wire/feed.ts';
import { Intake } from '../../gateway/ingest/intake.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout } = demoSite();
const START = Date.UTC(2026, 6, 14, 20, 0, 0);
let intake = new Intake(layout);
let nowMs = START;
beforeEach(() => {
  intake = new Intake(layout);
  nowMs = START;
});

/** A reading each second whose device says that it is so much ahead of the time of receipt. */
function tick(offS: number | null, options: { retained?: boolean; unit?: string } = {}): ReturnType<Intake['take']> {
  nowMs += 1_000;
  const pack = [
    {
      n: 'pressure',
      u: options.unit ?? 'kPa',
      v: 400 + ((nowMs / 1_000) % 7),
      ...(offS === null ? {} : { t: nowMs / 1_000 + offS }),
    },
  ];
  return intake.take(
    {
      topic: 'wetdown/larch-cove/end-a/senml',
      payload: Buffer.from(JSON.stringify(pack)),
      retained: options.retained ?? false,
      receivedMs: nowMs,
    },
    1,
  );
}

const endA = (): DevicePicture => intake.devicesAt(nowMs).find(({ device }) => device === 'end-a')!;
const clock = (offsets: readonly (number | null)[]): unknown => {
  for (const offset of offsets) tick(offset);
  return endA().clock && [endA().clock!.state, endA().clock!.offMs];
};
const times = <Item>(count: number, item: Item): Item[] => Array.from({ length: count }, () => item);

describe('a clock', () => {
  it.each<[string, (number | null)[], unknown]>([
    ['that was never heard', [null, null], null],
    ['that is right, give or take a radio link', [0, -3, 2, -5], ['right', -5_000]],
    ['minutes behind, by a steady amount', times(6, -180), ['behind', -180_000]],
    ['minutes behind, once', [-180], ['late', -180_000]],
    ['of a backlog that is worked off', [-900, -700, -500, -300, -100, -50], ['late', -50_000]],
    ['minutes ahead', times(3, 180), ['ahead', 180_000]],
    ['that stands at 1970', times(3, 5 - START / 1_000), ['wild', 5_000 - START]],
    ['that says 2036', times(3, (Date.UTC(2036, 1, 7) - START) / 1_000), ['wild', Date.UTC(2036, 1, 7) - START]],
    ['that jumps', [0, 240, 0, -400, 0], ['jumping', 0]],
    ['after one gap of the link', [0, 0, -120, -60, 0, 0], ['right', 0]],
  ])('%s', (_words, offsets, told) => {
    expect(clock(offsets)).toEqual(told);
  });

  it('is judged by the newest reading of a batch', () => {
    nowMs += 1_000;
    const pack = times(5, 0).map((_, index) => ({
      n: 'pressure',
      u: 'kPa',
      v: index,
      t: nowMs / 1_000 - 240 + 60 * index,
    }));
    intake.take(
      {
        topic: 'wetdown/larch-cove/end-a/senml',
        payload: Buffer.from(JSON.stringify(pack)),
        retained: false,
        receivedMs: nowMs,
      },
      1,
    );
    expect(endA().clock).toEqual({ state: 'right', offMs: 0 });
  });

  it('that runs ahead never freezes the latest value, whatever it says and whenever it is put right', () => {
    const watch = createWatch(layout, { simulated: false });
    const shown = (): unknown => {
      const { value, freshness } = watch
        .advance(nowMs + 1_000)!
        .channels.find(({ channel }) => channel === 'end-a-pressure')!;
      return [value, freshness];
    };
    for (const offS of [0, 4.9, 9_000, 86_400 * 400, (Date.UTC(2036, 1, 7) - START) / 1_000, 1e9, 3, 0, 0, 0, 0, 0]) {
      const taken = tick(offS);
      for (const { live, ...reading } of taken.readings) if (live) watch.take(reading);
      watch.advance(nowMs);
    }
    expect(shown()).toEqual([(400 + ((nowMs / 1_000) % 7)) * 1_000, 'fresh']);
  });

  it('that is steadily behind is put right in the picture, and the screen is told by how much', () => {
    const watch = createWatch(layout, { simulated: false });
    for (let second = 0; second < 8; second += 1) {
      for (const { live, ...reading } of tick(-180).readings) if (live) watch.take(reading);
      watch.advance(nowMs);
    }
    nowMs += 1_000;
    const channel = watch.advance(nowMs)!.channels.find((one) => one.channel === 'end-a-pressure');
    expect(channel).toMatchObject({ atMs: nowMs - 1_000, freshness: 'fresh' });
    expect(endA().putRightMs).toBe(180_000);
  });
});

describe('loss', () => {
  it('is not known in the first minute, then the share of readings that never came in ten', () => {
    for (let second = 0; second < 50; second += 1) tick(0);
    expect(endA().lost).toBeNull();
    for (let second = 0; second < 600; second += 1) {
      if (second % 4 === 0) nowMs += 1_000;
      else tick(0);
    }
    expect(endA().lost).toBeCloseTo(0.25, 1);
    for (let second = 0; second < 620; second += 1) tick(0);
    expect(endA().lost).toBe(0);
    nowMs += 300_000;
    expect(endA().lost).toBeCloseTo(0.5, 1);
    nowMs += 600_000;
    expect(endA().lost).toBeCloseTo(1, 2);
  });

  it('is not made by doubles, and is mended by what comes late', () => {
    for (let second = 0; second < 120; second += 1) {
      tick(0);
      nowMs -= 1_000;
      tick(0);
    }
    expect(endA().lost).toBe(0);
    nowMs += 60_000;
    expect(endA().lost).toBeGreaterThan(0.3);
    const pack = times(60, 0).map((_, index) => ({
      n: 'pressure',
      u: 'kPa',
      v: index,
      t: nowMs / 1_000 - 59.5 + index,
    }));
    intake.take(
      {
        topic: 'wetdown/larch-cove/end-a/senml',
        payload: Buffer.from(JSON.stringify(pack)),
        retained: false,
        receivedMs: nowMs,
      },
      1,
    );
    expect(endA().lost).toBe(0);
  });
});

describe('refusals', () => {
  it('are counted for each device by reason', () => {
    tick(0, { unit: 'psi' });
    tick(0, { unit: 'psi' });
    tick(null, { retained: true });
    expect(endA().refused).toEqual([
      { reason: 'ingest/unknown-unit', count: 2 },
      { reason: 'ingest/undated', count: 1 },
    ]);
    expect(intake.devicesAt(nowMs).find(({ device }) => device === 'end-b')?.refused).toEqual([]);
  });
});
