/**
 * People's units against NIST SP 811 (2008), Appendix B.8, and what a refused quantity says.
 * Figures are the appendix's own, retyped; it rounds to seven digits, and so does the comparison.
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { UnitSystem } from '../../config/layout/layout.ts';
import { editDistance, nearestWord, suggestion } from '../../config/spelling.ts';
import { parseQuantity, show, unitsOf, type Dimension, type Shown } from '../../config/units.ts';

function si(text: string, dimension: Dimension): number {
  const parsed = parseQuantity(text, dimension);
  if (!parsed.ok) throw new Error(parsed.why);
  return parsed.value;
}

describe('factors of NIST SP 811, Appendix B.8', () => {
  test.each<[string, Dimension, number]>([
    ['1 ft', 'length', 0.3048],
    ['1 in', 'length', 0.0254],
    ['1 psi', 'pressure', 6894.757],
    ['1 bar', 'pressure', 1e5],
    ['1 USgal', 'volume', 3.785412e-3],
    ['1 Igal', 'volume', 4.54609e-3],
    ['1 USgpm', 'flow', 6.30902e-5],
    ['1 Igpm', 'flow', 7.576817e-5], // gallon (Imperial) divided by 60 s; the appendix lists the gallon
    ['1 L', 'volume', 1e-3],
    ['1 h', 'time', 3600],
    ['1 rpm', 'rotation', 1.666667e-2],
  ])('%s', (text, dimension, value) => {
    expect(Math.abs(si(text, dimension) / value - 1)).toBeLessThan(3e-7);
  });

  test('the inch, the foot, the pound per square inch and both gallons are exact', () => {
    expect(si('1 psi', 'pressure')).toBeCloseTo(6894.757293168361, 9);
    expect(si('12 in', 'length')).toBeCloseTo(si('1 ft', 'length'), 15);
    expect(si('1000 USgal', 'volume')).toBeCloseTo(3.785411784, 12);
    expect(si('1000 Igal', 'volume')).toBeCloseTo(4.54609, 12);
    expect(si('1 USgpm', 'flow') * 60).toBeCloseTo(si('1 USgal', 'volume'), 15);
  });

  test.each<[string, number]>([
    ['32 F', 0],
    ['212 F', 100],
    ['-40 F', -40],
    ['-40 C', -40],
  ])('thermometer: %s', (text, celsius) => {
    expect(si(text, 'temperature')).toBeCloseTo(celsius, 12);
  });

  test('a difference of temperature has no zero point', () => {
    expect(si('9 F', 'temperature difference')).toBeCloseTo(5, 12);
  });

  test('the remaining units agree with each other', () => {
    expect(si('1 MPa', 'pressure')).toBe(si('1000 kPa', 'pressure'));
    expect(si('60 L/min', 'flow')).toBeCloseTo(si('1 L/s', 'flow'), 15);
    expect(si('3600 m3/h', 'flow')).toBeCloseTo(si('1 m3/s', 'flow'), 15);
    expect(si('60 L/h', 'flow')).toBeCloseTo(si('1 L/min', 'flow'), 15);
    expect(si('60 USgal/h', 'flow')).toBeCloseTo(si('1 USgpm', 'flow'), 15);
    expect(si('25 %', 'ratio')).toBe(0.25);
    expect(si('180 deg', 'angle')).toBeCloseTo(si('3.141592653589793 rad', 'angle'), 12);
  });
});

describe('how a quantity may be written', () => {
  test.each<[string, Dimension, number]>([
    ['3/4 in', 'length', 0.01905],
    ['1 1/2 in', 'length', 0.0381],
    ['2 1/2in', 'length', 0.0635],
    ['30m', 'length', 30],
    [' 30  m ', 'length', 30],
    ['.5 m', 'length', 0.5],
    ['5. m', 'length', 5],
    ['1e3 mm', 'length', 1],
    ['-1.8 m', 'length', -1.8],
    ['12 US gpm', 'flow', (12 * 3.785411784e-3) / 60],
    ['12 Imp gpm', 'flow', (12 * 4.54609e-3) / 60],
    ['2 m³/h', 'flow', 2 / 3600],
    ['48 L / min', 'flow', 0.0008],
    ['21 °C', 'temperature', 21],
  ])('%s', (text, dimension, value) => {
    expect(si(text, dimension)).toBeCloseTo(value, 12);
  });

  test.each<[string, Dimension, string, RegExp]>([
    ['12 gpm', 'flow', 'ambiguous-gallon', /differ by 20 %: write '12 USgpm' or '12 Igpm'/],
    ['1/2 gal', 'volume', 'ambiguous-gallon', /write '1\/2 USgal' or '1\/2 Igal'/],
    ['500 gal', 'volume', 'ambiguous-gallon', /'500 USgal' or '500 Igal'/],
    ['2 gal/h', 'flow', 'ambiguous-gallon', /'2 USgal\/h' or '2 Igal\/h'/],
    ['3,5 m', 'length', 'no-number', /comma in the number: write a decimal point/],
    ['4,200 rpm', 'rotation', 'no-number', /no thousands separator/],
    ['10 000 L', 'volume', 'no-number', /blank in the number/],
    ['30', 'length', 'no-unit', /'30' has no unit: known for a length: m, cm, mm, ft, in/],
    ['', 'length', 'no-number', /with its unit is needed, such as '30 m'/],
    ['long', 'length', 'no-number', /does not start with a number/],
    ['3 psi', 'length', 'wrong-dimension', /'psi' is a unit of pressure, and a length is needed/],
    ['3 kpa', 'pressure', 'unknown-unit', /did you mean 'kPa'\?/],
    ['3 mPa', 'pressure', 'unknown-unit', /'mPa' is not a known unit/],
    ['3 furlongs', 'length', 'unknown-unit', /known: m, cm, mm, ft, in/],
    ['30 m 3', 'volume', 'unknown-unit', /'m 3' is not a known unit/],
    ['1/2 ft', 'length', 'no-number', /fractions are for inches only/],
    ['1/0 in', 'length', 'no-number', /does not start with a number/],
    ['1e999 m', 'length', 'no-number', /too large/],
    ['3 constructor', 'length', 'unknown-unit', /not a known unit/],
  ])('refuses %s', (text, dimension, reason, why) => {
    const parsed = parseQuantity(text, dimension);
    expect(parsed).toMatchObject({ ok: false, reason });
    expect(parsed.ok ? '' : parsed.why).toMatch(why);
  });

  const DIMENSIONS: Dimension[] = ['length', 'pressure', 'flow', 'volume', 'rotation', 'time', 'ratio', 'angle'];

  /** Numbers this small have no twelve digits to compare. */
  const SUBNORMAL = 1e-300;

  test('any finite number in any unit comes back by dividing by one of that unit', () => {
    const quantity = fc
      .constantFrom(...DIMENSIONS)
      .chain((dimension) => fc.tuple(fc.constant(dimension), fc.constantFrom(...unitsOf(dimension))));
    fc.assert(
      fc.property(quantity, fc.double({ min: -1e9, max: 1e9, noNaN: true }), ([dimension, unit], number) => {
        const back = si(`${number} ${unit}`, dimension) / si(`1 ${unit}`, dimension);
        expect(Math.abs(back - number)).toBeLessThanOrEqual(1e-12 * Math.abs(number) + SUBNORMAL);
      }),
    );
  });

  test('no text makes it throw', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme' }), fc.constantFrom(...DIMENSIONS), (text, dimension) => {
        const parsed = parseQuantity(text, dimension);
        expect(parsed.ok ? Number.isFinite(parsed.value) : parsed.why.length > 0).toBe(true);
      }),
    );
  });
});

describe('how a value is shown', () => {
  test.each<[number, Shown, UnitSystem, string, string]>([
    [345_000, 'pressure', 'metric', '345', 'kPa'],
    [345_000, 'pressure', 'us', '50', 'psi'],
    [34_500, 'pressure', 'imperial', '5.0', 'psi'],
    [48 / 60_000, 'flow', 'metric', '48', 'L/min'],
    // Small flows to about what a bucket and a watch tell.
    [4 / 60_000, 'flow', 'metric', '4.0', 'L/min'],
    [18.85 / 60_000, 'flow', 'us', '4.98', 'US gpm'],
    [18.85 / 60_000, 'flow', 'imperial', '4.15', 'Imp gpm'],
    [48 / 60_000, 'flow', 'us', '12.7', 'US gpm'],
    [48 / 60_000, 'flow', 'imperial', '10.6', 'Imp gpm'],
    [10, 'volume', 'metric', '10000', 'L'],
    [10, 'volume', 'us', '2642', 'US gal'],
    [10, 'volume', 'imperial', '2200', 'Imp gal'],
    [0.75, 'length', 'metric', '0.75', 'm'],
    [9.996, 'length', 'metric', '10.0', 'm'],
    [30.48, 'length', 'us', '100', 'ft'],
    [70, 'rotation', 'us', '4200', 'rpm'],
    [0, 'temperature', 'us', '32', '°F'],
    [-15, 'temperature', 'us', '5', '°F'],
    [-15, 'temperature', 'metric', '-15', '°C'],
    [5.4, 'temperature', 'metric', '5', '°C'],
    [21.4, 'temperature', 'imperial', '21', '°C'],
    [-0.0001, 'length', 'metric', '0.00', 'm'],
  ])('%d %s, %s', (value, what, system, text, unit) => {
    expect(show(value, what, system)).toEqual({ text, unit });
  });

  test('what is not known is a dash, never a zero', () => {
    for (const value of [null, Number.NaN, Infinity]) {
      expect(show(value, 'pressure', 'us')).toEqual({ text: '—', unit: 'psi' });
    }
  });

  test('what is shown can be typed back in, to the precision shown', () => {
    const shown = fc.constantFrom<Shown>('pressure', 'flow', 'volume', 'length', 'rotation', 'temperature');
    const system = fc.constantFrom<UnitSystem>('us', 'imperial', 'metric');
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1000, noNaN: true }), shown, system, (value, what, units) => {
        const first = show(value, what, units);
        const back = si(`${first.text} ${first.unit}`, what);
        expect(show(back, what, units)).toEqual(first);
      }),
    );
  });
});

test('a mistyped word finds its neighbour, and nonsense finds none', () => {
  expect(nearestWord('tnak', ['tank', 'pump'])).toBe('tank');
  expect(nearestWord('kpa', ['psi', 'kPa', 'Pa'])).toBe('kPa');
  expect(nearestWord('revsion', ['name', 'revision'])).toBe('revision');
  expect(nearestWord('furlongs', ['m', 'ft'])).toBeNull();
  // Two of three letters wrong is another word.
  expect(nearestWord('abc', ['xyc'])).toBeNull();
  expect(suggestion('x', [])).toBe('none is known');
});

// Optimal string alignment; the textbook's own pair, and the one that tells it from the full Damerau distance.
test.each([
  ['kitten', 'sitting', 3],
  ['tnak', 'tank', 1],
  ['ca', 'abc', 3],
  ['', 'abc', 3],
  ['abc', '', 3],
])('from %s to %s: %d', (a, b, distance) => {
  expect(editDistance(a, b)).toBe(distance);
});

test('a long list of known words is cut, and says how much is left out', () => {
  const words = (count: number) => Array.from({ length: count }, (_, i) => `word-${i}`);
  expect(suggestion('zebra', words(12))).toMatch(/word-11$/);
  expect(suggestion('zebra', words(15))).toMatch(/word-11 and 3 more$/);
});
