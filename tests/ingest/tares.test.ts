/**
 * A tare at atmospheric pressure: when it can be, what it takes off, and what it leaves alone. Common practice, no
 * source.
 */
import { beforeEach, describe, expect, it } from 'vitest';
import type { Entry } from '../../config/wire/entry.ts';
import type { Picture, PumpPicture } from '../../config/wire/wire.ts';
import { Intake } from '../../gateway/ingest/intake.ts';
import { blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout } = demoSite();
const GAUGE = 'end-a-pressure';
let intake = new Intake(layout);
let nowMs = 0;
beforeEach(() => {
  intake = new Intake(layout);
  nowMs = 1_790_000_000_000;
});

function reads(kilopascals: number, options: { device?: string; agoS?: number } = {}): number | undefined {
  nowMs += 1_000;
  const pack = [
    {
      n: 'pressure',
      u: 'kPa',
      v: kilopascals,
      ...(options.agoS === undefined ? {} : { t: nowMs / 1_000 - options.agoS }),
    },
  ];
  return intake.take(
    {
      topic: `wetdown/larch-cove/${options.device ?? 'end-a'}/senml`,
      payload: Buffer.from(JSON.stringify(pack)),
      retained: false,
      receivedMs: nowMs,
    },
    1,
  ).readings[0]?.value;
}

function pictureWith(state: PumpPicture['state']): Picture {
  const pump = {
    pump: 'pump',
    state,
    dischargePa: null,
    suctionPa: null,
    flowM3s: null,
    rotationHz: null,
    fuelM3: null,
    fuelLeftS: null,
  };
  return blankPicture(nowMs, { pumps: [pump] });
}

function tare(sensor = GAUGE, picture: Picture | null = pictureWith('stopped')): string | null {
  const entry: Entry = { kind: 'tare', by: 'AB', sensor };
  const objection = intake.objection(entry, picture);
  if (objection === null) intake.heed(entry, nowMs);
  return objection;
}

describe('a tare', () => {
  it('takes the mean of the last readings off all later ones', () => {
    for (const value of [6, 7, 8]) reads(value);
    expect(tare()).toBeNull();
    expect(reads(7)).toBeCloseTo(0, 6);
    expect(reads(407)).toBeCloseTo(400_000, 6);
    expect(intake.tares).toEqual([{ sensor: GAUGE, offsetPa: 7_000, by: 'AB', atMs: nowMs - 2_000 }]);
    expect(reads(30, { device: 'end-b' })).toBe(30_000);
  });

  it('made again counts from what the gauge itself says, not from what was corrected', () => {
    for (const value of [7, 7, 7]) reads(value);
    tare();
    for (let count = 0; count < 10; count += 1) reads(9);
    expect(tare()).toBeNull();
    expect(intake.tares).toMatchObject([{ offsetPa: 9_000 }]);
  });

  it('leaves readings from before it as they were, however late they come', () => {
    for (const value of [7, 7, 7]) reads(value);
    tare();
    expect(reads(12, { agoS: 600 })).toBe(12_000);
    reads(400);
    reads(400);
    expect(reads(407, { agoS: 1.5 })).toBeCloseTo(400_000, 6);
  });

  it('goes with the gauge: one that is swapped in starts without', () => {
    for (const value of [7, 7, 7]) reads(value);
    tare();
    reads(50, { device: 'spare' });
    intake.heed({ kind: 'assign', by: 'AB', device: 'spare', record: 'pressure', sensor: GAUGE }, nowMs);
    expect([reads(50, { device: 'spare' }), intake.tares]).toEqual([50_000, []]);
  });

  it('judges the range of the gauge by what it says itself', () => {
    for (const value of [-7, -7, -7]) reads(value);
    expect(tare()).toBeNull();
    expect(reads(0)).toBeCloseTo(7_000, 6);
  });

  it.each<[string, PumpPicture['state'], RegExp]>([
    ['runs', 'running', /all pumps stopped, and 'pump' is running/],
    ['starts', 'starting', /is starting/],
    ['is shut in', 'dead-head', /is dead-head/],
    ['is not known', 'unknown', /a state that is not known/],
  ])('is refused while the pump %s', (_words, state, why) => {
    for (const value of [7, 7, 7]) reads(value);
    expect(tare(GAUGE, pictureWith(state))).toMatch(why);
    expect(reads(7)).toBe(7_000);
  });

  it('is refused where it cannot be judged, with why', () => {
    expect(tare()).toMatch(/0 fresh readings, and 3 are needed/);
    for (const value of [7, 7, 7]) reads(value);
    expect(tare(GAUGE, null)).toMatch(/nothing is known of them yet/);
    expect(tare('flow')).toMatch(/measures flow: only a pressure gauge/);
    expect(tare('nothing')).toMatch(/no sensor 'nothing'/);
    nowMs += 20_000;
    expect(tare()).toMatch(/0 fresh readings/);
  });

  it('is refused while the line still drains, and where the gauge reads more than its own error', () => {
    for (const value of [60, 40, 20]) reads(value);
    expect(tare()).toMatch(/still moves, by 40.0 kPa/);
    for (let count = 0; count < 10; count += 1) reads(48);
    expect(tare()).toMatch(/reads 48.0 kPa: more than the 20.0 kPa that its own error can be/);
    expect(intake.tares).toEqual([]);
  });
});
