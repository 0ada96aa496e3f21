/**
 * What crews rig beside the usual, in the words of a site file: what is read, in SI, and what is wrong with it where.
 */
import { describe, expect, test } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { faultsOf, SITE } from './site-text.ts';

const PA_PER_PSI = 6_894.757293168361; // NIST SP 811
const M3S_PER_USGPM = 6.30901964e-5; // NIST SP 811

function read(text: string): Layout {
  const parsed = parseLayout(text, 'test.yaml');
  if (!parsed.ok) throw new Error(JSON.stringify(parsed.faults));
  return parsed.layout;
}

const source = (words: string): string =>
  SITE.replace(/tank: \{ kind.*\}/, `tank: { position: [0 m, 0 m], height: 0 m, ${words} }`);
const pump = (words: string): string => SITE.replace('    outlet: p0\n', `    outlet: p0\n    ${words}\n`);
const GOVERNED =
  '{ curve: [[0 L/min, 900 kPa], [500 L/min, 500 kPa]], rated-speed: 3000 rpm, fuel-use: 5 L/h, npsh: ' +
  '3 m, control: governor }';

describe('sources', () => {
  test.each(['hydrant', 'house-tap'])('a %s by static pressure and one flow test', (kind) => {
    const [tank] = read(source(`kind: ${kind}, static: 80 psi, residual: 47 psi, residual-flow: 620 USgpm`)).sources;
    expect(tank!.shape).toEqual({ kind: 'open-water' });
    expect(tank!.mains!.staticPa).toBeCloseTo(80 * PA_PER_PSI, 3);
    expect(tank!.mains!.residualPa).toBeCloseTo(47 * PA_PER_PSI, 3);
    expect(tank!.mains!.residualFlowM3s).toBeCloseTo(620 * M3S_PER_USGPM, 8);
  });

  test('a bladder by its volume only', () => {
    const { shape } = read(source('kind: bladder, volume: 3000 USgal')).sources[0]!;
    if (shape.kind !== 'framed-tank') throw new Error(shape.kind);
    expect(shape.lengthM * shape.widthM * shape.depthM).toBeCloseTo(3_000 * 0.003785411784, 9);
  });

  test.each([
    ['kind: hydrant, static: 40 psi, residual: 47 psi, residual-flow: 620 USgpm', 'layout/not-falling', 'residual'],
    ['kind: hydrant, static: 40 psi, residual: 30 psi', 'layout/missing-field', 'residual-flow'],
    ['kind: hydrant, static: 40, residual: 30 psi, residual-flow: 620 USgpm', 'layout/missing-unit', 'static'],
    [
      'kind: hydrant, static: 40 psi, residual: 30 psi, residual-flow: 620 gpm',
      'layout/ambiguous-gallon',
      'residual-flow',
    ],
    ['kind: bladder', 'layout/missing-field', 'volume'],
  ])('%s', (words, code, field) => {
    expect(faultsOf(source(words))).toMatchObject([{ code, field: `sources.tank.${field}`, line: 7 }]);
  });
});

describe('pumps', () => {
  test('throttle, inlet and relief valve; what is left out is as usual', () => {
    const [usual] = read(SITE).pumps;
    expect(usual).toMatchObject({ inlet: null, speed: 1, holdsPa: null, relief: null });
    const [rigged] = read(pump('speed: 85 %\n    inlet: p2\n    relief: { opens: 150 psi, bore: 1 in }')).pumps;
    expect(rigged).toMatchObject({ inlet: 'p2', speed: 0.85 });
    expect(rigged!.relief!.opensPa).toBeCloseTo(150 * PA_PER_PSI, 3);
    expect(rigged!.relief!.boreM).toBeCloseTo(0.0254, 12);
  });

  test('a governor holds what it is told to', () => {
    const text = pump('holds: 100 psi').replace('kit: portable-high-pressure', `kit: ${GOVERNED}`);
    expect(read(text).pumps[0]!.holdsPa).toBeCloseTo(100 * PA_PER_PSI, 3);
  });

  test.each([
    ['holds: 100 psi', 'layout/bad-value', 'holds'],
    ['speed: 130 %', 'layout/out-of-range', 'speed'],
    ['speed: 0 %', 'layout/out-of-range', 'speed'],
    ['inlet: nowhere', 'layout/unknown-reference', 'inlet'],
    ['relief: { opens: 150 psi }', 'layout/missing-field', 'relief.bore'],
  ])('%s', (words, code, field) => {
    expect(faultsOf(pump(words))).toMatchObject([{ code, field: `pumps.pump.${field}` }]);
  });
});

describe('hoses and heads', () => {
  test('a check valve in a hose', () => {
    const { hoses } = read(SITE.replace('length: 100 ft }', 'length: 100 ft, check-valve: true }'));
    expect(hoses.map(({ checkValve }) => checkValve)).toEqual([true, false, false, false]);
  });

  test('a hose that weeps, by Colebrook', () => {
    const kit = '{ bore: 1 in, burst: 300 psi, roughness: 0.05 mm, factor: colebrook, weeps: 0.25 USgpm at 100 psi }';
    const hose = read(SITE.replace('kit: lined-25', `kit: ${kit}`)).hoses.find(({ id }) => id === 'h4')!;
    expect(hose.kit.friction).toEqual({ law: 'darcy-weisbach', roughnessM: 0.00005, colebrook: true });
    expect(hose.kit.weepKPerM! * Math.sqrt(100 * PA_PER_PSI)).toBeCloseTo(0.25 * M3S_PER_USGPM, 10);
    expect(faultsOf(SITE.replace('kit: lined-25', `kit: ${kit.replace(' at 100 psi', '')}`))).toMatchObject([
      { code: 'layout/bad-quantity', field: 'hoses.h4.kit.weeps' },
    ]);
    expect(faultsOf(SITE.replace('kit: lined-25', `kit: ${kit.replace('colebrook', 'colbrook')}`))).toMatchObject([
      { code: 'layout/bad-value', field: 'hoses.h4.kit.factor' },
    ]);
  });

  test('a second nozzle adds its discharge', () => {
    const own = (more: string): string =>
      SITE.replace(
        'kit: impact-1-2',
        'kit: { family: impact, open-bore: 1/2 in, throw: 11 m, flow: 7 USgpm at 100 psi, turns-from: ' +
          `25 psi, turns-to: 80 psi, survives: 150 psi${more} }`,
      );
    const k = (text: string): number => read(text).heads[0]!.kit.k;
    expect(k(own(', second-nozzle: 3.5 USgpm at 100 psi')) / k(own(''))).toBeCloseTo(1.5, 9);
  });
});
