/** What the screen says of a device as a device. */
import { expect, test } from 'vitest';
import { batteryWords, deviceClockWords, lossWords } from '../../ui/words/devices.ts';

const HEARD = Date.UTC(2026, 6, 14, 20);

test('clocks', () => {
  const said = (state: Parameters<typeof deviceClockWords>[0], putRightMs = 0): string =>
    deviceClockWords(state, putRightMs, HEARD).words;
  expect([said(null), said({ state: 'right', offMs: -900 })]).toEqual([
    'says no time of its own: the time of receipt counts',
    'clock right',
  ]);
  expect(said({ state: 'behind', offMs: -190_000 }, 188_000)).toBe('clock 3 min behind, put right');
  expect(said({ state: 'behind', offMs: -190_000 })).toBe('clock 3 min behind: its readings look that old');
  expect(said({ state: 'ahead', offMs: 240_000 })).toBe('clock 4 min ahead: not used, the time of receipt counts');
  expect(said({ state: 'late', offMs: -660_000 })).toContain('readings come 11 min late');
  expect(said({ state: 'jumping', offMs: 95_000 })).toContain(
    'clock jumps, or old readings come between new ones; last 95 s ahead',
  );
  expect(said({ state: 'wild', offMs: 60_000 - HEARD })).toContain('clock says 1970: not used');
  expect(said({ state: 'wild', offMs: Date.UTC(2036, 1, 7) - HEARD })).toContain('clock says 2036: not used');
});

test('battery and loss', () => {
  expect([
    batteryWords(null),
    batteryWords({ volts: 3.609 }),
    batteryWords({ share: 0.84 }),
    batteryWords({ share: 0.1 }),
  ]).toEqual([
    null,
    { words: 'battery 3.61 V', bad: false },
    { words: 'battery 84 %', bad: false },
    { words: 'battery 10 %', bad: true },
  ]);
  expect([lossWords(null), lossWords(0.001), lossWords(0.12)]).toEqual([
    { words: 'loss not known yet', bad: false },
    { words: 'nothing lost in 10 min', bad: false },
    { words: '12 % lost in 10 min', bad: true },
  ]);
});
