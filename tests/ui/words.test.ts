/** Words that people act on: times, time left, probabilities, units of charts, and waits between tries. */
import { describe, expect, it } from 'vitest';
import { unitScale } from '../../ui/charts/chart-options.ts';
import { waitMs } from '../../ui/link/live-link.ts';
import { FIND_GROUPS } from '../../ui/words/finds.ts';
import { chanceWords, percentWords } from '../../ui/words/states.ts';
import { clockWords, durationWords, leftParts, leftWords, rangeWords } from '../../ui/words/time.ts';

describe('time', () => {
  const noonUtc = Date.UTC(2031, 6, 1, 12, 7, 59);

  it("is the site's own, 24 h, and says Z when it is not", () => {
    expect(clockWords(noonUtc, 'America/Denver')).toBe('06:07');
    expect(clockWords(noonUtc, 'UTC')).toBe('12:07Z');
    expect(clockWords(Date.UTC(2031, 0, 1, 7, 0), 'America/Denver')).toBe('00:00');
  });

  it('is told in the size people use', () => {
    expect([3, 192, 5_400, 9_300, 200_000].map(durationWords)).toEqual([
      '3 s',
      '3 min',
      '90 min',
      '2 h 35 min',
      '2 d 7 h',
    ]);
  });

  it('left is rounded down, never up', () => {
    expect([59, 60, 119, 120].map(leftWords)).toEqual(['under 1 min', '1 min', '1 min', '2 min']);
    expect(leftWords(1_079)).toBe('17 min');
    expect(leftWords(8_999)).toBe('2 h 29 min');
    expect(leftParts(8_999)).toEqual({ text: '2 h 29', unit: 'min' });
    expect(rangeWords({ low: 830, high: 1_260 })).toBe('13 to 21 min');
    expect(rangeWords({ low: 10, high: 130 })).toBe('0 to 2 min');
  });

  it('has both ends of a range in one form: minutes, or hours and minutes', () => {
    const said = (lowMin: number, highMin: number): string => rangeWords({ low: 60 * lowMin, high: 60 * highMin });
    expect(said(64, 112)).toBe('1 h 04 to 1 h 52 min');
    expect(said(83, 188)).toBe('1 h 23 to 3 h 08 min');
    expect(said(8, 530)).toBe('0 h 08 to 8 h 50 min');
    expect(said(0, 530)).toBe('0 to 8 h 50 min');
    expect(said(64, 99)).toBe('64 to 99 min');
  });
});

describe('probability', () => {
  it('is never certain', () => {
    expect(percentWords(1)).toBe('99 %');
    expect(percentWords(0)).toBe('1 %');
    expect(chanceWords(0.83)).toBe('83 %, very likely');
  });
});

describe('what a crew can have found', () => {
  it('says of what no gauge shows that no gauge shows it', () => {
    const group = (find: string): string => FIND_GROUPS.find(([, finds]) => finds.some((one) => one === find))![0];
    expect(['leak', 'wrong-arc', 'walked-all'].map(group)).toEqual([
      'What gauges can show',
      'What no gauge here can show',
      'And besides',
    ]);
  });
});

describe('chart units', () => {
  // Ice and boiling point; 100 psi by NIST SP 811 (2008): 689.4757 kPa.
  it('turn SI into what the axis says', () => {
    const fahrenheit = unitScale('°F', 'temperature');
    expect(fahrenheit.toShown(0)).toBeCloseTo(32, 9);
    expect(fahrenheit.toShown(100)).toBeCloseTo(212, 9);
    expect(unitScale('psi', 'pressure').toShown(689_475.7)).toBeCloseTo(100, 4);
  });
});

describe('trying again', () => {
  it('waits longer each time, up to a quarter of a minute and its spread', () => {
    const waits = [0, 1, 2, 3, 4, 5, 20].map((tries) => waitMs(tries, 0));
    expect(waits).toEqual([1_000, 2_000, 4_000, 8_000, 15_000, 15_000, 15_000]);
    expect(waitMs(20, 1)).toBeLessThan(20_000);
  });
});
