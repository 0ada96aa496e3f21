/**
 * Which time a reading is filed at when its device's clock is off: the same for the record, the chart, the number and
 * the export. A clock that is steadily slow is put right, a backlog is not made new. Order of events: common practice,
 * no source.
 */
import { describe, expect, it } from 'vitest';
import { Intake } from '../../gateway/ingest/intake.ts';
import type { FiledReading } from '../../gateway/ingest/places.ts';
import { Channel } from '../../gateway/core/telemetry/channel.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const NOW = Date.UTC(2026, 6, 14, 20, 0, 0);
const sensor = layout.sensors.find(({ id }) => id === 'end-c-pressure')!;
type Said = readonly [record: string, deviceMs: number, value?: number | undefined];

/** Packets into an intake, and what is live of it into the channels, as the gateway does. */
class Site {
  intake = new Intake(layout);
  readonly channels = new Map(layout.sensors.map((one) => [one.id, new Channel(one)]));
  readonly filed: FiledReading[] = [];
  nowMs = NOW;

  /** One packet of the device, received at second `atS` after the start; times of its readings in the same seconds. */
  packet(atS: number, device: string, said: readonly Said[], retained = false): readonly FiledReading[] {
    this.nowMs = NOW + 1_000 * atS;
    const pack = said.map(([n, deviceMs, v]) => ({
      n,
      u: n === 'flow' ? 'm3/s' : 'Pa',
      v: v ?? (n === 'flow' ? 0.005 : 400_000) * (1 + ((this.nowMs / 1_000) % 7) / 1_000),
      t: deviceMs / 1_000,
    }));
    const taken = this.intake.take(
      {
        topic: `wetdown/larch-cove/${device}/senml`,
        payload: Buffer.from(JSON.stringify(pack)),
        retained,
        receivedMs: this.nowMs,
      },
      1,
    );
    for (const reading of taken.readings) {
      this.filed.push(reading);
      if (reading.live) this.channels.get(reading.channel)!.take(reading);
    }
    return taken.readings;
  }

  /** The end of line C: one reading, by a clock that is `lagS` behind. */
  endC(atS: number, lagS: number, value?: number): FiledReading {
    return this.packet(atS, 'end-c', [['pressure', NOW + 1_000 * (atS - lagS), value]])[0]!;
  }

  freshness(id = sensor.id): string {
    return this.channels.get(id)!.freshness(this.nowMs + 900);
  }

  putRightS(device = 'end-c'): number {
    return this.intake.devicesAt(this.nowMs).find((one) => one.device === device)!.putRightMs / 1_000;
  }
}

const ageS = (reading: FiledReading): number => (reading.receivedMs - reading.atMs) / 1_000;

describe('a slow device clock', () => {
  it('is learned from five deliveries that are as late as each other, and forgotten when it is set right', () => {
    const site = new Site();
    for (let second = 0; second < 4; second += 1) site.endC(second, 240);
    expect([site.freshness(), site.putRightS()]).toEqual(['stale', 0]);
    for (let second = 4; second < 30; second += 1) site.endC(second, 240);
    expect([site.freshness(), site.putRightS()]).toEqual(['fresh', 240]);
    for (let second = 30; second < 40; second += 1) site.endC(second, 0);
    expect([site.freshness(), site.putRightS()]).toEqual(['fresh', 0]);
  });

  it('300 s slow from the start: from the fifth reading on the record has the time that is shown', () => {
    const site = new Site();
    for (let second = 0; second < 60; second += 1) {
      const filed = site.endC(second, 300);
      expect(filed.deviceMs, 'what the device said is kept beside it').toBe(NOW + 1_000 * (second - 300));
      if (second < 4) continue;
      expect([ageS(filed), filed.live, site.freshness()]).toEqual([0, true, 'fresh']);
      expect(site.channels.get(sensor.id)!.latest!.atMs).toBe(filed.atMs);
    }
  });

  it('that becomes right in one step, or in several, is right at once and never filed in the future', () => {
    for (const steps of [[0], [300, 200, 100, 0], [300, 2], [300, 6, 0]]) {
      const site = new Site();
      for (let second = 0; second < 20; second += 1) site.endC(second, 300);
      let second = 20;
      for (const lagS of steps)
        for (const endS = second + 12; second < endS; second += 1)
          expect(ageS(site.endC(second, lagS)), `${lagS} s`).toBeGreaterThanOrEqual(0);
      expect([ageS(site.endC(second, 0)), site.putRightS(), site.freshness()]).toEqual([0, 0, 'fresh']);
    }
  });

  it('that becomes wrong in mid-run is put right after five readings, not after as long as it is behind', () => {
    const site = new Site();
    for (let second = 0; second < 60; second += 1) site.endC(second, 0);
    const ages = Array.from({ length: 10 }, (_, index) => ageS(site.endC(60 + index, 300)));
    expect(ages).toEqual([300, 300, 300, 300, 0, 0, 0, 0, 0, 0]);
    expect(site.freshness()).toBe('fresh');
    // And wrong again by more, and by less.
    for (let second = 70; second < 80; second += 1) site.endC(second, 900);
    expect([site.putRightS(), site.freshness()]).toEqual([900, 'fresh']);
    for (let second = 80; second < 90; second += 1) site.endC(second, 303);
    expect([site.putRightS(), site.freshness()]).toEqual([303, 'fresh']);
    for (let second = 90; second < 100; second += 1) site.endC(second, 309);
    expect([site.putRightS(), site.freshness()]).toEqual([309, 'fresh']);
  });

  it('that loses time slowly is followed; the least lag counts, so a jitter of the road moves nothing', () => {
    const site = new Site();
    for (let second = 0; second < 30_000; second += 10) site.endC(second, 0.0005 * second);
    expect(site.putRightS()).toBeCloseTo(15, 0);
    expect(site.freshness()).toBe('fresh');
    const jittery = new Site();
    const filed = Array.from({ length: 200 }, (_, second) => jittery.endC(second, 300 + ((second * 7) % 5) / 4));
    const steps = filed.slice(10).map((one, index) => (one.atMs - filed[index + 9]!.atMs) / 1_000);
    expect(Math.max(...filed.slice(10).map(ageS))).toBeLessThanOrEqual(1);
    expect(Math.min(...steps), 'no reading is filed before the one it follows').toBeGreaterThan(-1.1);
  });

  it('is one for all channels of a device, however seldom they speak; and another for another device', () => {
    const site = new Site();
    for (let second = 0; second < 30; second += 1) {
      const deviceMs = NOW + 1_000 * (second - 300);
      site.packet(second, 'pump-box', [['discharge', deviceMs]]);
      if (second % 10 === 9) site.packet(second, 'pump-box', [['flow', deviceMs]]);
      site.endC(second, 0);
    }
    const flow = site.filed.filter(({ channel }) => channel === 'flow');
    expect(flow.map(ageS), 'learned from the other channel before its own second reading').toEqual([0, 0, 0]);
    expect([site.putRightS('pump-box'), site.putRightS('end-c')]).toEqual([300, 0]);
    const both = site.packet(40, 'pump-box', [
      ['discharge', NOW - 260_000],
      ['flow', NOW - 260_000],
    ]);
    expect(both.map(({ atMs }) => atMs)).toEqual([NOW + 40_000, NOW + 40_000]);
  });

  it('is not read into one channel whose readings stand for the minute before', () => {
    const site = new Site();
    for (let second = 0; second < 60; second += 1) {
      site.packet(second, 'pump-box', [['discharge', NOW + 1_000 * second]]);
      const mean = site.packet(second, 'pump-box', [['flow', NOW + 1_000 * (second - 60)]])[0]!;
      if (second > 10) expect(ageS(mean)).toBe(60);
      expect(ageS(site.filed.at(-2)!)).toBe(0);
    }
  });

  it('is not read into a radio link that is a few seconds late', () => {
    const site = new Site();
    for (let second = 0; second < 60; second += 1) site.endC(second, 5);
    expect(site.putRightS()).toBe(0);
    expect(site.channels.get(sensor.id)!.freshness(site.nowMs)).not.toBe('stale');
  });

  it('leaves no lag between the two that is neither put right nor fresh', () => {
    for (let lagMs = 0; lagMs < 20_000; lagMs += 500) {
      const site = new Site();
      for (let second = 0; second < 60; second += 1) site.endC(second, lagMs / 1_000 + (second % 5) * 0.4);
      expect(site.freshness(), `${lagMs} ms`).not.toBe('stale');
    }
  });
});

describe('a backlog', () => {
  it('of a first connection is not read into a clock, in one batch or in several', () => {
    const one = new Site();
    one.packet(
      300,
      'end-c',
      Array.from({ length: 200 }, (_, second): Said => ['pressure', NOW + 1_000 * second]),
    );
    expect([one.putRightS(), one.freshness()]).toEqual([0, 'stale']);
    const several = new Site();
    for (let batch = 0; batch < 8; batch += 1)
      several.packet(
        300 + batch,
        'end-c',
        Array.from({ length: 30 }, (_, second): Said => ['pressure', NOW + 1_000 * (batch * 30 + second)]),
      );
    expect(several.putRightS()).toBe(0);
  });

  /** A right clock, a minute heard, then 300 s of silence. */
  const afterGap = (): Site => {
    const site = new Site();
    for (let second = 0; second < 60; second += 1) site.endC(second, 0);
    return site;
  };

  it.each([
    ['as fast as the device measures', 1],
    ['half as fast', 0.5],
    ['twice as fast', 2],
    ['ten times as fast', 10],
  ])(
    'after a gap of the radio with a right clock, worked off %s, keeps its times and is never shown as new',
    (_, rate) => {
      const site = afterGap();
      for (let sent = 0; sent < 240; sent += 1) {
        const atS = 360 + sent / rate;
        const filed = site.endC(atS, atS - (60 + sent));
        expect(filed.atMs).toBe(NOW + 1_000 * (60 + sent));
        if (ageS(filed) > 20) expect(site.freshness()).toBe('stale');
      }
      expect(site.putRightS()).toBe(0);
    },
  );

  it('that follows the first live reading, or comes between live ones, keeps its times too', () => {
    for (const between of [false, true]) {
      const site = afterGap();
      site.endC(360, 0);
      for (let sent = 0; sent < 200; sent += 1) {
        const filed = site.endC(361 + sent, 361 + sent - (60 + sent));
        expect([filed.atMs, filed.live]).toEqual([NOW + 1_000 * (60 + sent), false]);
        if (between) expect(ageS(site.endC(361 + sent + 0.6, 0))).toBe(0);
      }
      expect(site.putRightS()).toBe(0);
    }
  });

  it('that was taken for a slow clock is seen as one once it is worked off: none of it is shown as new', () => {
    const site = new Site();
    for (let second = 0; second < 10; second += 1) site.endC(second, 300);
    for (let sent = 0; sent < 55; sent += 1) {
      const lagS = 295 - 5 * sent;
      const filed = site.endC(10 + sent, lagS);
      expect(ageS(filed)).toBe(lagS);
      // What was shown last grows old first.
      if (sent > 8 && lagS > 10) expect(site.freshness(), `${lagS} s`).toBe('stale');
    }
    expect([ageS(site.endC(70, 0)), site.freshness()]).toEqual([0, 'fresh']);
  });

  it('of a slow clock is put right by as much as its clock is behind, and no more', () => {
    const site = new Site();
    for (let second = 0; second < 60; second += 1) site.endC(second, 300);
    for (let sent = 0; sent < 60; sent += 1) {
      const filed = site.endC(120 + sent / 10, 300 + 60 + sent / 10 - sent);
      // A thousandth of the gap is left for drift.
      expect(filed.atMs / 1_000).toBeCloseTo(NOW / 1_000 + 60 + sent, 0);
    }
    expect(ageS(site.endC(130, 300))).toBe(0);
  });

  it('of two days and more with a right clock is not taken for a clock that was never set', () => {
    const site = new Site();
    site.endC(0, 0);
    const late = 60 * 3_600;
    expect(ageS(site.endC(late, late - 1))).toBe(late - 1);
    expect(ageS(site.endC(late + 1, 0))).toBe(0);
  });

  it('and a clock that went back in a silence are told apart where the time goes over what was heard', () => {
    const site = afterGap();
    for (let second = 100; second < 110; second += 1) site.endC(second, 300);
    expect([site.putRightS(), site.freshness()]).toEqual([300, 'fresh']);
  });
});

describe('a clock that was never set', () => {
  /** The device counts from its start, at 1970. */
  const sent = (site: Site, receivedS: number, deviceS: number, value: number): FiledReading =>
    site.packet(receivedS, 'end-c', [['pressure', 1_000 * (1_000 + deviceS), value]])[0]!;

  it('dates a backlog by its own seconds, so that nothing old is taken for new', () => {
    const site = new Site();
    for (let second = 0; second < 60; second += 1) sent(site, second, second, 300_000 + second);
    site.packet(
      200,
      'end-c',
      Array.from({ length: 140 }, (_, index): Said => ['pressure', 1_000 * (1_060 + index), 300_060 + index]),
    );
    const channel = site.channels.get(sensor.id)!;
    expect(channel.latest!.value).toBe(300_199);
    expect((channel.latest!.atMs - NOW) / 1_000, 'a thousandth of the gap is left for drift').toBeCloseTo(199, 0);
    expect(channel.between(NOW + 99_500, NOW + 100_500).map(({ value }) => value)).toEqual([300_100]);
    const times = site.filed.map(({ atMs }) => atMs);
    expect(new Set(times).size, 'in the record too').toBe(200);
  });

  it('that starts again is dated anew at once, and one that overtakes is not taken for a start', () => {
    const site = new Site();
    for (let second = 0; second < 60; second += 1) sent(site, second, second, 1_000 + second);
    expect(sent(site, 61, 57.5, 7).live).toBe(false);
    expect(site.channels.get(sensor.id)!.latest!.value).toBe(1_059);
    const anew = sent(site, 70, -990, 8);
    expect([anew.live, ageS(anew)]).toEqual([true, 0]);
  });

  it('or runs ahead, and is set in the middle, keeps every reading near its receipt', () => {
    for (const offS of [9_000, 180, 7, -1_780_000_000]) {
      const site = new Site();
      for (const lagS of [-offS, 0, -offS, 0])
        for (let second = 0; second < 20; second += 1) {
          const atS = Math.round((site.nowMs - NOW) / 1_000) + 1;
          expect(ageS(site.endC(atS, lagS)), `${offS} s`).toBeCloseTo(0, 6);
        }
    }
  });
});

it('a retained reading is no witness of the clock, and is dated by what is known of it', () => {
  const site = new Site();
  for (let second = 0; second < 8; second += 1)
    site.packet(second, 'end-c', [['pressure', NOW + 1_000 * (second - 300)]], true);
  expect(site.putRightS()).toBe(0);
  for (let second = 8; second < 16; second += 1) site.endC(second, 300);
  const [kept] = site.packet(20, 'end-c', [['pressure', NOW - 290_000]], true);
  expect(kept!.atMs).toBe(NOW + 10_000);
});

it('a time relative to now is no clock: twenty seconds old is twenty seconds old', () => {
  const intake = new Intake(layout);
  for (let second = 0; second < 30; second += 1) {
    const [reading] = intake.take(
      {
        topic: 'wetdown/larch-cove/end-c/senml',
        payload: Buffer.from('[{"n":"pressure","u":"kPa","v":400,"t":-20}]'),
        retained: false,
        receivedMs: NOW + 1_000 * second,
      },
      1,
    ).readings;
    expect(ageS(reading!)).toBe(20);
  }
});
