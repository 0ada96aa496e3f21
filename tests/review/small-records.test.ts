/** What is read out of a record at its edges: which burst, whose pressure, how complete a channel. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ChannelQuality } from '../../config/wire/review.ts';
import type { TruthTold } from '../../config/wire/truth.ts';
import type { BurstView } from '../../config/wire/bursts.ts';
import { burstAt } from '../../gateway/review/burst-view.ts';
import { lookBack } from '../../gateway/review/look-back.ts';
import { ReviewDesk } from '../../gateway/review/desk/review-desk.ts';
import { blankPicture } from '../support/blank-picture.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';
import { smallRecord, type Put } from '../support/small-record.ts';

const START = Date.UTC(2026, 6, 14, 6);
const layout = new LayoutBuilder()
  .tank('tank')
  .pump('pump', 'tank', 'p0')
  .chain(['p0', 'a0'], { line: 'line-a' })
  .chain(['p0', 'b0'], { line: 'line-b' })
  .head('a-1', 'a0', { line: 'line-a' })
  .head('b-1', 'b0', { line: 'line-b' })
  .lineEnd('end-a', 'a0', 'line-a')
  .lineEnd('end-b', 'b0', 'line-b')
  .sensor('b-motion', 'motion', { kind: 'place', place: 'b0' }, { line: 'line-b' })
  .build();
const sensor = layout.sensors.find(({ id }) => id === 'b-motion')!;

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-small-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Of a record with a burst of 4 s that ends at second 60, what opens at a moment. */
function opened(second: number, fill: (put: Put) => void = () => undefined): BurstView | null {
  const record = smallRecord(folder, layout, START, (put) => {
    for (let sample = 0; sample < 128; sample += 1) put.reading('b-motion', 60 - (127 - sample) / 32, 1);
    fill(put);
  });
  try {
    return burstAt(record, layout, sensor, START + 1_000 * second);
  } finally {
    record.close();
  }
}

describe('a burst', () => {
  it('opens by a moment up to five seconds away from it', () => {
    expect(opened(64.9)).toMatchObject({ samples: 128, endMs: START + 60_000 });
    expect(opened(60 - 127 / 32 - 4.9)).toMatchObject({ samples: 128 });
    expect(opened(65.5)).toBeNull();
    expect(opened(60 - 127 / 32 - 5.5)).toBeNull();
  });

  it('has the pressure at the end of its own line, and no other', () => {
    const both = (put: Put): void => {
      put.reading('end-a', 60, 4e5);
      put.reading('end-b', 60, 3e5);
    };
    expect(opened(60, both)!.linePa).toBe(3e5);
    expect(opened(60, (put) => put.reading('end-a', 60, 4e5))!.linePa).toBeNull();
  });

  it('takes a pressure that came until three seconds after its last sample, and none that came later', () => {
    const lateBy = (seconds: number): number | null =>
      opened(60, (put) => put.reading('end-b', 60, 3e5, seconds))!.linePa;
    expect([lateBy(0), lateBy(2.9), lateBy(3.1)]).toEqual([3e5, 3e5, null]);
  });

  it('does not know the pressure where the line end had been silent for more than three and a half intervals', () => {
    const agoBy = (seconds: number): number | null =>
      opened(60, (put) => put.reading('end-b', 60 - seconds, 3e5))!.linePa;
    expect([agoBy(3.5), agoBy(3.6)]).toEqual([3e5, null]);
  });
});

describe('how completely a sensor was heard', () => {
  /** Of twenty seconds; the sensors of the lines send once a second. */
  function heard(fill: (put: Put) => void): ChannelQuality {
    const record = smallRecord(folder, layout, START, (put) => {
      put.picture(blankPicture(START));
      fill(put);
      put.picture(blankPicture(START + 20_000, { advice: { working: false, sinceMs: START, why: '' } }));
    });
    try {
      const steps = lookBack(record, layout, []);
      for (;;) {
        const step = steps.next();
        if (step.done) return step.value.figures.channels.find(({ channel }) => channel === 'end-a')!;
      }
    } finally {
      record.close();
    }
  }
  const every =
    (seconds: number, from = 0, to = 20): ((put: Put) => void) =>
    (put) => {
      for (let second = from; second < to; second += seconds) put.reading('end-a', second, 3e5);
    };

  it('is all of what was due, and never more, where it sends more often than agreed', () => {
    expect(heard(every(1))).toMatchObject({ readings: 20, expected: 20, share: 1, gaps: 0, gapS: 0 });
    expect(heard(every(0.5))).toMatchObject({ readings: 40, expected: 20, share: 1, gaps: 0 });
    expect(heard(every(2))).toMatchObject({ readings: 10, expected: 20, share: 0.5, gaps: 0 });
  });

  it('has silence before the first and after the last reading as gaps, and none of it where nothing came', () => {
    expect(heard(every(1, 5, 16))).toMatchObject({ readings: 11, gaps: 2, gapS: 10, longestGapS: 5 });
    expect(heard(() => undefined)).toMatchObject({ readings: 0, share: 0, gaps: 1, gapS: 20, longestGapS: 20 });
  });
});

describe('the desk', () => {
  const DAY_MS = 86_400_000;
  const told = (fromMs: number): TruthTold => ({
    by: 'QR',
    what: 'note',
    at: null,
    fromMs,
    toMs: null,
    words: '',
    replaces: null,
  });

  it('takes what people enter of times up to a week before and after the run, not beyond', () => {
    const record = smallRecord(folder, layout, START, (put) => put.reading('end-a', 3_600, 3e5));
    const desk = new ReviewDesk(() => ({ path: record.path, layout }), true);
    const END = START + 3_600_000;
    const taken = [START - 7.1 * DAY_MS, START - 6.9 * DAY_MS, END + 6.9 * DAY_MS, END + 7.1 * DAY_MS].map(
      (fromMs) => desk.tell(told(fromMs), null, END).ok,
    );
    expect(taken).toEqual([false, true, true, false]);
    desk.close();
    record.close();
  });

  it('lets go of a record when it is closed, and opens it again when asked', () => {
    const record = smallRecord(folder, layout, START, () => undefined);
    const { path } = record;
    record.close();
    const desk = new ReviewDesk(() => ({ path, layout }), true);
    const { reader } = desk.at;
    expect(reader.simulated).toBe(false);
    desk.close();
    expect(() => reader.simulated).toThrow(/not open/);
    expect(desk.at.reader.simulated).toBe(false);
    desk.close();
  });
});
