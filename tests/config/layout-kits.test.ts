/**
 * Kit and tables that a site file describes by itself: pump curves, dip tables, heads, hoses; and what is refused in
 * them.
 */
import { describe, expect, test } from 'vitest';
import type { FaultCode } from '../../config/layout/layout-fault.ts';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { faultsOf, SITE } from './site-text.ts';

describe('the tables of tanks, pumps and heads', () => {
  const withPump = (kit: string): string => SITE.replace('kit: portable-high-pressure', `kit: ${kit}`);
  const pump = (curve: string): string =>
    withPump(`{ curve: ${curve}, rated-speed: 3600 rpm, npsh: 3 m, fuel-use: 2 L/h, control: throttle }`);

  test('a pump may bring its own curve', () => {
    const parsed = parseLayout(pump('[[0 USgpm, 100 psi], [50 USgpm, 60 psi]]'), 'test.yaml');
    expect(parsed.ok && parsed.layout.pumps[0]?.kit.curveRisePa[1]).toBeCloseTo(60 * 6894.757, 0);
  });

  test.each([
    ['[[0 L/min, 700 kPa], [100 L/min, 700 kPa]]', 'layout/not-falling', /the pressure in row 2 is not falling/],
    ['[[0 L/min, 700 kPa], [0 L/min, 600 kPa]]', 'layout/not-rising', /the flow in row 2 is not rising/],
  ])('curve %s', (curve, code, problem) => {
    const faults = faultsOf(pump(curve));
    expect(faults).toMatchObject([{ code, field: 'pumps.pump.kit.curve.2', line: 10 }]);
    expect(faults[0]?.problem).toMatch(problem);
  });

  test('a bare gpm in a curve is refused on its row', () => {
    expect(faultsOf(pump('[[0 gpm, 700 kPa], [100 L/min, 600 kPa]]'))).toMatchObject([
      {
        code: 'layout/ambiguous-gallon',
        field: 'pumps.pump.kit.curve.1',
        problem: expect.stringContaining("'0 USgpm' or '0 Igpm'"),
      },
    ]);
  });

  test('a dip table must rise, and points at the row that does not', () => {
    const table = `    kind: dipped-tank
    position: [0 m, 0 m]
    height: 0 m
    table:
      - [0 in, 0 USgal]
      - [10 in, 500 USgal]
      - [9 in, 600 USgal]`;
    const text = SITE.replace(/tank: \{ kind.*\}/, `tank:\n${table}`);
    expect(faultsOf(text)).toMatchObject([{ code: 'layout/not-rising', field: 'sources.tank.table.3', line: 14 }]);
    expect(faultsOf(text.replace('[9 in', '[11 in'))).toEqual([]);
  });

  const head = (rest: string): string =>
    SITE.replace('kit: impact-1-2', `kit: { family: impact, open-bore: 1/2 in, throw: 11 m, ${rest} }`);
  const RANGE = 'turns-from: 25 psi, turns-to: 80 psi, survives: 150 psi';

  test.each([
    ['k: 0.7 USgpm/sqrt(psi)', 0.7],
    ['flow: 7 USgpm at 100 psi', 0.7],
  ])('a head may bring its own discharge: %s', (discharge, k) => {
    const parsed = parseLayout(head(`${discharge}, ${RANGE}`), 'test.yaml');
    const expected = (k * 6.30902e-5) / Math.sqrt(6894.757);
    expect(parsed.ok && (parsed.layout.heads[0]?.kit.k ?? 0) / expected).toBeCloseTo(1, 5);
  });

  test.each<[string, FaultCode, string]>([
    [`flow: 7 USgpm, ${RANGE}`, 'layout/bad-quantity', 'flow'],
    [`flow: 7 gpm at 100 psi, ${RANGE}`, 'layout/ambiguous-gallon', 'flow'],
    [`flow: 7 USgpm at 100 ft, ${RANGE}`, 'layout/wrong-dimension', 'flow'],
    [`k: 0.7 USgpm/sqrt(ft), ${RANGE}`, 'layout/wrong-dimension', 'k'],
    [`k: 0.7, ${RANGE}`, 'layout/bad-quantity', 'k'],
    [`k: 0.7 USgpm/sqrt(psi), flow: 7 USgpm at 100 psi, ${RANGE}`, 'layout/bad-value', 'k'],
    [RANGE, 'layout/missing-field', 'flow'],
    ['flow: 7 USgpm at 100 psi, turns-to: 80 psi, survives: 150 psi', 'layout/missing-field', 'turns-from'],
    ['flow: 7 USgpm at 100 psi, turns-from: 25 psi, survives: 150 psi', 'layout/missing-field', 'turns-to'],
    ['flow: 7 USgpm at 100 psi, turns-from: 25 psi, turns-to: 80 psi', 'layout/missing-field', 'survives'],
    [
      'flow: 7 USgpm at 100 psi, turns-from: 90 psi, turns-to: 80 psi, survives: 150 psi',
      'layout/not-rising',
      'turns-to',
    ],
    [
      'flow: 7 USgpm at 100 psi, turns-from: 20 psi, turns-to: 80 psi, survives: 70 psi',
      'layout/not-rising',
      'survives',
    ],
  ])('a head with %s', (rest, code, field) => {
    expect(faultsOf(head(rest))).toMatchObject([{ code, field: `heads.a-1.kit.${field}`, line: 36 }]);
  });

  const hose = (law: string): string => SITE.replace('kit: lined-25', `kit: { bore: 1 in, burst: 300 psi${law} }`);

  test('a hose may bring its own friction, by one law', () => {
    for (const law of ['hazen-williams: 120', 'coefficient: 150', 'roughness: 0.1 mm'])
      expect(faultsOf(hose(`, ${law}`))).toEqual([]);
    for (const law of ['', ', hazen-williams: 120, coefficient: 150']) {
      expect(faultsOf(hose(law))).toMatchObject([
        { code: 'layout/missing-field', field: 'hoses.h4.kit.hazen-williams' },
      ]);
    }
  });

  test('a kit described once can serve other heads by its mark', () => {
    const second = SITE.slice(SITE.indexOf('  a-1:'), SITE.indexOf('sensors:'))
      .replace('a-1:', 'a-2:')
      .replace('impact-1-2', '*own');
    const text = head(`flow: 7 USgpm at 100 psi, ${RANGE}`)
      .replace('kit: { family', 'kit: &own { family')
      .replace('sensors:', `${second}sensors:`);
    const parsed = parseLayout(text, 'test.yaml');
    expect(parsed.ok && parsed.layout.heads.map((one) => one.kit.k === parsed.layout.heads[0]?.kit.k)).toEqual([
      true,
      true,
    ]);
  });
});
