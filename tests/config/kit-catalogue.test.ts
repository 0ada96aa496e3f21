/**
 * The kit rows against the published figures they are taken from: handbook friction coefficients, nozzle tables.
 * Sources are named beside each; figures are retyped.
 */
import { describe, expect, test } from 'vitest';
import {
  GATE_KITS,
  HEAD_KIT_BY_ID,
  HEAD_KITS,
  HOSE_KIT_BY_ID,
  HOSE_KITS,
  PUMP_KITS,
} from '../../config/kit/kit-catalogue.ts';

const PSI_PA = 6894.757293;
const US_GPM_M3S = 6.30902e-5;

test('every row has a name of its own, a label and a source', () => {
  const rows = [...HOSE_KITS, ...HEAD_KITS, ...GATE_KITS, ...PUMP_KITS];
  expect(rows.length).toBeGreaterThan(15);
  expect(new Set(rows.map((row) => row.id)).size).toBe(rows.length);
  for (const row of rows) {
    expect(row.id).toMatch(/^[a-z0-9-]+$/);
    expect(row.label.length).toBeGreaterThan(3);
    expect(row.source.length, row.id).toBeGreaterThan(20);
  }
});

test('an assumed figure says that it is assumed', () => {
  for (const id of ['spinner', 'rotator-small', 'impact-1'])
    expect(HEAD_KIT_BY_ID.get(id)?.source).toMatch(/assumption/i);
  for (const id of ['percolating-38', 'suction-65']) expect(HOSE_KIT_BY_ID.get(id)?.source).toMatch(/assum/i);
  expect(PUMP_KITS[0]?.source).toMatch(/invented/i);
});

describe('lined hose gives the driver-operator handbook loss, FL = C (Q/100)^2 (L/100)', () => {
  // Hazen-Williams in the form of NFPA 13: p = 4.52 Q^1.85 / (C^1.85 d^4.87), psi/ft, US gpm, in. The two laws have
  // different exponents, so they meet at one flow; compared where each hose is used.
  test.each<[string, number, number]>([
    ['lined-65', 2, 150],
    ['lined-38', 24, 60],
    ['lined-25', 150, 30],
    ['feeder-19', 1100, 12],
    ['feeder-16', 2737, 8],
  ])('%s: coefficient %d', (id, coefficient, gpm) => {
    const kit = HOSE_KIT_BY_ID.get(id);
    const boreIn = (kit?.boreM ?? Number.NaN) / 0.0254;
    expect(kit?.friction).toEqual({ law: 'hazen-williams', c: 140 });
    const hazenWilliams = ((4.52 * gpm ** 1.85) / (140 ** 1.85 * boreIn ** 4.87)) * 100;
    expect(Math.abs(hazenWilliams / (coefficient * (gpm / 100) ** 2) - 1)).toBeLessThan(0.1);
  });
});

describe('heads discharge what was published for them', () => {
  test.each<[string, number, number, string]>([
    ['impact-1', 12.7, 50, 'a fire department: 48 L/min'],
    ['impact-3-4', 8.26, 35, 'extension nozzle table, 7/32 in'],
    ['impact-3-4', 10.3, 55, 'extension nozzle table, 7/32 in'],
    ['impact-1-2', 4.16, 35, 'extension nozzle table, 5/32 in'],
    ['impact-1-2', 5.22, 55, 'extension nozzle table, 5/32 in'],
    ['rotator-large', 4.5, 50, 'specialist note'],
    ['rotator-small', 1.8, 50, 'specialist note'],
  ])('%s: %d US gpm at %d psi (%s)', (id, gpm, psi) => {
    const k = HEAD_KIT_BY_ID.get(id)?.k ?? Number.NaN;
    expect(Math.abs((k * Math.sqrt(psi * PSI_PA)) / (gpm * US_GPM_M3S) - 1)).toBeLessThan(0.01);
  });

  // NFPA 291: q = 29.83 c d^2 sqrt(p); c = 0.965 is what the extension table implies for small impact nozzles.
  test.each<[string, number, number]>([
    ['impact-1', 1 / 4, 0.965],
    ['impact-1-2', 5 / 32, 0.965],
    ['impact-3-4', 7 / 32, 0.978],
  ])('%s: nozzle of %d in with c = %d', (id, bore, c) => {
    const k = HEAD_KIT_BY_ID.get(id)?.k ?? Number.NaN;
    expect(
      Math.abs((k * Math.sqrt(50 * PSI_PA)) / (29.83 * c * bore ** 2 * Math.sqrt(50) * US_GPM_M3S) - 1),
    ).toBeLessThan(0.005);
  });

  test(
    'a head breaks above the pressure at which it still turns, and its open fitting is wider than its ' + 'nozzle',
    () => {
      for (const head of HEAD_KITS) {
        expect(head.turnPaMin).toBeGreaterThan(0);
        expect(head.turnPaMax).toBeGreaterThan(head.turnPaMin);
        expect(head.survivesPa).toBeGreaterThan(head.turnPaMax);
        const openK = head.openDischargeCoefficient * (Math.PI / 4) * head.openBoreM ** 2 * Math.sqrt(2 / 1000);
        expect(openK).toBeGreaterThan(2 * head.k);
      }
    },
  );
});

test('the pump curve falls from its shut-off as flow rises', () => {
  for (const pump of PUMP_KITS) {
    expect(pump.curveFlowM3s[0]).toBe(0);
    expect([...pump.curveFlowM3s].sort((a, b) => a - b)).toEqual(pump.curveFlowM3s);
    expect([...pump.curveRisePa].sort((a, b) => b - a)).toEqual(pump.curveRisePa);
  }
});
