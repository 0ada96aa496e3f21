/**
 * What the layout parser says about a faulty file: every kind of fault with its line and field, all faults at once, and
 * nothing that merely follows from another fault.
 */
import { describe, expect, test } from 'vitest';
import { formatFault, type FaultCode } from '../../config/layout/layout-fault.ts';
import { fingerprint, parseLayout } from '../../config/layout/layout-parser.ts';
import { faultsOf, SITE } from './site-text.ts';

test('a file without fault becomes a layout in SI', () => {
  const parsed = parseLayout(SITE, 'C:\\sites\\test-lay.yaml');
  if (!parsed.ok) throw new Error(parsed.faults.map(formatFault).join('\n'));
  const { layout } = parsed;
  expect(layout).toMatchObject({ site: 'test-lay', name: 'Test lay', revision: 3, units: 'us', timeZone: 'UTC' });
  expect(layout.altitudeM).toBeCloseTo(304.8, 9);
  expect(layout.pumps[0]?.fuelCapacityM3).toBeCloseTo(5 * 3.785411784e-3, 12);
  expect(layout.hoses.map((hose) => hose.fittingLossFactor)).toEqual([0, 0.5, 0, 0]);
  expect(layout.hoses.map((hose) => hose.line)).toEqual([null, null, null, 'line-a']);
  expect(layout.gates[0]).toMatchObject({ opening: 1, boreM: 0.0254, openLossFactor: 2 });
  expect(layout.heads[0]).toMatchObject({ arcDeg: 180, facingDeg: 90, feederLengthM: 9.144 });
  expect(layout.heads[0]?.elevationM).toBeCloseTo(3 + 3.048, 9);
  expect(layout.sources[0]?.usable).toBe(0.9);
  // Ours, stated in the README: ten minutes for water, a quarter of an hour for fuel, unless the file says otherwise.
  expect([layout.sources[0]?.refillS, layout.pumps[0]?.refillS]).toEqual([600, 900]);
  expect(layout.sensors[0]?.noiseSd).toBeCloseTo(0.003 * 150 * 6894.757, 1);
  expect(layout.sensors[1]).toMatchObject({
    min: -40,
    max: expect.closeTo(85, 9),
    noiseSd: expect.closeTo(0.5, 9),
    offsetSd: 1,
  });
});

test('how long a refill takes is read in any unit of time', () => {
  const text = SITE.replace('depth: 1 m }', 'depth: 1 m, refill: 0.5 h }').replace(
    'fuel: 5 USgal',
    'fuel: 5 USgal\n    refill: 40 min',
  );
  const parsed = parseLayout(text, 'sites/test.yaml');
  expect(parsed.ok && [parsed.layout.sources[0]!.refillS, parsed.layout.pumps[0]!.refillS]).toEqual([1_800, 2_400]);
});

/** Code, text replaced, its replacement ('¶' before the line at fault where that is not the first), field, remedy. */
const SINGLE_FAULTS: [FaultCode, string, string, string, RegExp][] = [
  ['layout/unknown-field', 'revision: 3', 'revision: 3\n¶weather: dry', 'weather', /known: /],
  ['layout/unknown-field', 'losses: 0.5', 'loses: 0.5', 'hoses.h2.loses', /did you mean 'losses'\?/],
  ['layout/missing-field', '    rise: 10 ft\n', '', 'heads.a-1.rise', /add a line such as 'rise: 3 m'/],
  ['layout/missing-field', '    kit: impact-1-2\n', '', 'heads.a-1.kit', /add a line such as 'kit: /],
  ['layout/missing-field', ', on: { place: a1 }', '', 'sensors.end.on', /add 'on: \{ place: a3 \}'/],
  ['layout/missing-field', 'altitude: 1000 ft\n', '', 'altitude', /altitude: 640 m/],
  ['layout/missing-unit', 'rise: 10 ft', 'rise: 10', 'heads.a-1.rise', /such as '3 m'/],
  ['layout/unknown-unit', 'rise: 10 ft', 'rise: 10 feet', 'heads.a-1.rise', /such as '3 m'/],
  ['layout/wrong-dimension', 'rise: 10 ft', 'rise: 10 psi', 'heads.a-1.rise', /such as '3 m'/],
  ['layout/ambiguous-gallon', 'fuel: 5 USgal', 'fuel: 5 gal', 'pumps.pump.fuel', /such as '20 L'/],
  ['layout/bad-quantity', 'rise: 10 ft', 'rise: 3,5 m', 'heads.a-1.rise', /such as '3 m'/],
  ['layout/missing-unit', 'depth: 1 m }', 'depth: 1 m, refill: 20 }', 'sources.tank.refill', /such as '10 min'/],
  ['layout/out-of-range', 'depth: 1 m }', 'depth: 1 m, refill: 0 min }', 'sources.tank.refill', /above 0/],
  [
    'layout/wrong-dimension',
    'fuel: 5 USgal',
    'fuel: 5 USgal\n    ¶refill: 5 L',
    'pumps.pump.refill',
    /such as '15 min'/,
  ],
  [
    'layout/bad-value',
    'kind: framed-tank, position: [0 m, 0 m], height: 0 m, length: 4 m, width: 2.5 m, depth: 1 m }',
    'kind: open-water, position: [0 m, 0 m], height: 0 m, refill: 9 min }',
    'sources.tank.refill',
    /remove 'refill'/,
  ],
  ['layout/bad-quantity', 'rise: 10 ft', 'rise: high', 'heads.a-1.rise', /such as '3 m'/],
  ['layout/out-of-range', 'length: 100 ft', 'length: 0 ft', 'hoses.h1.length', /above 0/],
  ['layout/out-of-range', 'arc: 180 deg', 'arc: 400 deg', 'heads.a-1.arc', /at most 360 deg/],
  ['layout/out-of-range', 'to: a0, line', 'to: a0, opening: 150 %, line', 'gates.thief.opening', /at most 100 %/],
  [
    'layout/bad-value',
    'mount: gable-bracket',
    'mount: gable-braket',
    'heads.a-1.mount',
    /did you mean 'gable-bracket'\?/,
  ],
  ['layout/bad-value', 'time-zone: UTC', 'time-zone: Mars/Base', 'time-zone', /UTC/],
  ['layout/bad-value', 'revision: 3', 'revision: three', 'revision', /number without a unit/],
  ['layout/bad-value', 'kind: framed-tank', 'kind: bucket', 'sources.tank.kind', /known: framed-tank/],
  ['layout/bad-value', 'quantity: temperature', 'quantity: humidity', 'sensors.air.quantity', /known: pressure/],
  ['layout/bad-value', 'label: NE gable', 'label:', 'heads.a-1.label', /write a value/],
  ['layout/bad-value', ', [50 m, 9 m]]', ']', 'structures.house.outline', /rows such as/],
  ['layout/wrong-shape', '{ hose: suction-65, length: 10 ft, losses: 4 }', '3 m', 'pumps.pump.suction', /name: value/],
  ['layout/wrong-shape', '[50 m, 6 m]', '[50 m]', 'heads.a-1.position', /\[12 m, 30 m\]/],
  ['layout/wrong-shape', '[50 m, 6 m]', '50 m', 'heads.a-1.position', /\[12 m, 30 m\]/],
  ['layout/unknown-reference', 'to: p1,', 'to: p9,', 'hoses.h1.to', /known: p0, p1, p2, a0, a1/],
  ['layout/unknown-reference', 'source: tank', 'source: tnak', 'pumps.pump.source', /did you mean 'tank'\?/],
  ['layout/unknown-reference', 'on: { place: a1 }', 'on: { place: a9 }', 'sensors.end.on.place', /known: /],
  ['layout/unknown-reference', 'structure: house', 'structure: line-a', 'heads.a-1.structure', /known: house/],
  [
    'layout/unknown-kit',
    'kit: impact-1-2',
    'kit: impact-2-1',
    'heads.a-1.kit',
    /known: impact-1.*describe the kit here/,
  ],
  ['layout/unknown-kit', 'kit: lined-25', 'kit: lined-52', 'hoses.h4.kit', /did you mean 'lined-25'\?/],
  ['layout/duplicate-name', '  air: {', '  house: {', 'sensors.house', /rename one of the two/],
  [
    'layout/duplicate-name',
    '  a1: {',
    '  a1: { position: [0 m, 0 m], height: 3 m }\n¶  a1: {',
    'places.a1',
    /rename or remove/,
  ],
  [
    'layout/duplicate-name',
    'device: box, record: t',
    'device: end-a, record: p',
    'sensors.air.record',
    /record of its own/,
  ],
  [
    'layout/bad-name',
    '  house: {',
    `  Main House: { label: x, outline: [[0 m, 0 m], [1 m, 0 m], [1 m, 1 m]] }\n  house: {`,
    'structures.Main House',
    /small letters/,
  ],
  ['layout/bad-name', 'device: box', 'device: box/1', 'sensors.air.device', /small letters/],
  ['layout/hose-to-itself', 'from: p2, to: p0', 'from: p2, to: p2', 'hoses.h3.to', /other end/],
  [
    'layout/no-water-reaches',
    '  p2: {',
    '  p3: { position: [0 m, 0 m], height: 3 m }\n  p2: {',
    'places.p3',
    /join it to the lay/,
  ],
  ['layout/head-off-its-line', '    at: a1', '    at: p1', 'heads.a-1.at', /correct 'at' or 'line'/],
  [
    'layout/line-without-head',
    '  line-a: {',
    '  line-b: { label: B }\n  line-a: {',
    'lines.line-b',
    /or remove the line/,
  ],
  ['layout/sensor-misplaced', 'on: { place: a1 }', 'on: { pump: pump }', 'sensors.end.on', /place, suction, discharge/],
  ['layout/sensor-misplaced', 'on: { place: a1 }', 'on: {}', 'sensors.end.on', /write one of/],
  ['layout/not-rising', '[0 psi, 150 psi]', '[150 psi, 0 psi]', 'sensors.end.range', /lower end first/],
];

describe('each fault is the only one, on its line and field', () => {
  test.each(SINGLE_FAULTS)('%s: %j -> %j', (code, from, to, field, remedy) => {
    const at = SITE.indexOf(from);
    expect(at >= 0 && SITE.indexOf(from, at + 1) < 0, 'the text replaced stands in the site once').toBe(true);
    const marked = SITE.replace(from, to.includes('¶') ? to : `¶${to}`);
    const faults = faultsOf(marked.replace('¶', ''));
    expect(faults.map((fault) => [fault.code, fault.field])).toEqual([[code, field]]);
    expect(faults[0]?.remedy).toMatch(remedy);
    expect(faults[0]?.file).toBe('sites/test.yaml');
    // What is missing is reported where its owner stands.
    const line =
      code === 'layout/missing-field' ? lineOfOwner(field) : marked.slice(0, marked.indexOf('¶')).split('\n').length;
    expect(faults[0]?.line).toBe(line);
  });

  function lineOfOwner(field: string): number {
    const owner = field.split('.').at(-2);
    return owner === undefined ? 1 : SITE.split('\n').findIndex((row) => row.startsWith(`  ${owner}:`)) + 1;
  }
});

describe('the file as a whole', () => {
  test.each<[string, string, FaultCode, number]>([
    ['nothing', '', 'layout/empty', 1],
    ['blanks', ' \n\n', 'layout/empty', 1],
    ['comments', '# nothing yet\n', 'layout/empty', 1],
    ['a bracket left open', 'name: x\nplaces: { a: 1\n', 'layout/not-yaml', 3],
    ['a tab', 'name: x\nplaces:\n\tp0: 1\n', 'layout/not-yaml', 3],
    ['brackets without end', '['.repeat(50_000), 'layout/not-yaml', 1],
    ['two documents', 'name: x\n---\nname: y\n', 'layout/not-yaml', 2],
    ['a sentence', 'the pump is by the lake', 'layout/wrong-shape', 1],
    ['a list', '- a\n- b\n', 'layout/wrong-shape', 1],
    ['far too much', `name: ${'x'.repeat(600_000)}`, 'layout/too-large', 1],
  ])('%s', (_, text, code, line) => {
    const faults = faultsOf(text);
    expect(faults[0]).toMatchObject({ code, line });
    expect(new Set(faults.map((fault) => fault.code))).toEqual(new Set([code]));
  });

  test('the file name becomes the site name, and must be fit for a topic', () => {
    expect(faultsOf(SITE, 'My Site.yaml')).toMatchObject([{ code: 'layout/bad-file-name', line: 1 }]);
    expect(faultsOf(SITE, 'a/b/creek-2.yml')).toEqual([]);
  });

  test('all faults are reported at once, in the order of the file', () => {
    const text = SITE.replace('units: us', 'units: US')
      .replace('length: 100 ft', 'length: 100')
      .replace('at: a1', 'at: a7')
      .replace('fuel: 5 USgal', 'fuel: 5 gal');
    expect(faultsOf(text).map((fault) => [fault.code, fault.line])).toEqual([
      ['layout/bad-value', 3],
      ['layout/ambiguous-gallon', 15],
      ['layout/missing-unit', 23],
      ['layout/unknown-reference', 37],
    ]);
  });

  test('a separate part of the lay is one fault that names its places', () => {
    const text = SITE.replace('  thief: { kit: thief-25, from: p1,', '  thief: { kit: thief-25, from: a1,');
    expect(faultsOf(text)).toMatchObject([
      { code: 'layout/no-water-reaches', field: 'places.a0', problem: 'no pump reaches a0, a1' },
    ]);
  });

  test('a terminal shows file, line, field, what is wrong and what would be right', () => {
    const [fault] = faultsOf(SITE.replace('fuel: 5 USgal', 'fuel: 5 gal'));
    expect(fault && formatFault(fault)).toBe(
      "LAYOUT FAULT sites/test.yaml, line 15: pumps.pump.fuel: 'gal' could be US or Imperial gallons, " +
        'which differ by 20 %: ' +
        "write '5 USgal' or '5 Igal'\n    write it such as '20 L' [layout/ambiguous-gallon]",
    );
  });

  test('the fingerprint is FNV-1a, 64 bit', () => {
    // Test vectors of the function's authors (Fowler, Noll, Vo; IETF draft-eastlake-fnv).
    expect(fingerprint('')).toBe('cbf29ce484222325');
    expect(fingerprint('a')).toBe('af63dc4c8601ec8c');
    expect(fingerprint('foobar')).toBe('85944171f73967e8');
  });
});
