/**
 * What the layout parser says about a faulty file: every kind of fault with its line and field, all faults at once, and
 * nothing that merely follows from another fault.
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { formatFault, type FaultCode, type LayoutFault } from '../../config/layout-fault.ts';
import { fingerprint, parseLayout } from '../../config/layout-parser.ts';

const SITE = `name: Test lay
revision: 3
units: us
time-zone: UTC
altitude: 1000 ft
sources:
  tank: { kind: framed-tank, position: [0 m, 0 m], height: 0 m, length: 4 m, width: 2.5 m, depth: 1 m }
pumps:
  pump:
    kit: portable-high-pressure
    source: tank
    outlet: p0
    height: 0.5 m
    suction: { hose: suction-65, length: 10 ft, losses: 4 }
    fuel: 5 USgal
places:
  p0: { position: [1 m, 1 m], height: 1 m }
  p1: { position: [30 m, 1 m], height: 2 m }
  p2: { position: [30 m, 20 m], height: 2 m }
  a0: { position: [31 m, 1 m], height: 2 m }
  a1: { position: [60 m, 1 m], height: 3 m }
hoses:
  h1: { kit: lined-38, from: p0, to: p1, length: 100 ft }
  h2: { kit: lined-38, from: p1, to: p2, length: 30 m, losses: 0.5 }
  h3: { kit: lined-38, from: p2, to: p0, length: 30 m }
  h4: { kit: lined-25, from: a0, to: a1, length: 30 m, line: line-a }
gates:
  thief: { kit: thief-25, from: p1, to: a0, line: line-a }
lines:
  line-a: { label: A }
structures:
  house: { label: house, outline: [[40 m, 3 m], [50 m, 3 m], [50 m, 9 m]] }
heads:
  a-1:
    label: NE gable
    kit: impact-1-2
    at: a1
    feeder: { hose: feeder-16, length: 30 ft }
    rise: 10 ft
    position: [50 m, 6 m]
    line: line-a
    structure: house
    mount: gable-bracket
    zone: roof
    arc: 180 deg
    facing: 90 deg
sensors:
  end: { quantity: pressure, on: { place: a1 }, line: line-a, device: end-a, record: p, range: [0 psi, 150 psi], noise: 0.3 %, offset: 1 psi, every: 1 s }
  air: { quantity: temperature, on: air, device: box, record: t, range: [-40 F, 185 F], noise: 0.9 F, offset: 1 C, every: 10 s }
`;

function faultsOf(text: string, fileName = 'sites/test.yaml'): readonly LayoutFault[] {
  const parsed = parseLayout(text, fileName);
  return parsed.ok ? [] : parsed.faults;
}

/** The valid site with one spot changed, and the line on which the change begins. */
function changed(from: string, to: string): { text: string; line: number } {
  const at = SITE.indexOf(from);
  if (at < 0 || SITE.indexOf(from, at + 1) >= 0) throw new Error(`'${from}' must stand in the site once`);
  return { text: SITE.replace(from, to), line: SITE.slice(0, at).split('\n').length };
}

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
  expect(layout.sensors[0]?.noiseSd).toBeCloseTo(0.003 * 150 * 6894.757, 1);
  expect(layout.sensors[1]).toMatchObject({
    min: -40,
    max: expect.closeTo(85, 9),
    noiseSd: expect.closeTo(0.5, 9),
    offsetSd: 1,
  });
});

describe('each fault is the only one, on its line and field', () => {
  test.each<[FaultCode, string, string, string, RegExp]>([
    ['layout/unknown-field', 'revision: 3', 'revision: 3\nweather: dry', 'weather', /known: /],
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
    [
      'layout/wrong-shape',
      '{ hose: suction-65, length: 10 ft, losses: 4 }',
      '3 m',
      'pumps.pump.suction',
      /name: value/,
    ],
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
      '  a1: { position: [0 m, 0 m], height: 3 m }\n  a1: {',
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
    ['layout/bad-name', '  house: {', '  Main House: {', 'structures.Main House', /small letters/],
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
    [
      'layout/sensor-misplaced',
      'on: { place: a1 }',
      'on: { pump: pump }',
      'sensors.end.on',
      /place, suction, discharge/,
    ],
    ['layout/sensor-misplaced', 'on: { place: a1 }', 'on: {}', 'sensors.end.on', /write one of/],
    ['layout/not-rising', '[0 psi, 150 psi]', '[150 psi, 0 psi]', 'sensors.end.range', /lower end first/],
  ])('%s: %s -> %s', (code, from, to, field, remedy) => {
    const { text, line } = changed(from, to);
    const faults = faultsOf(
      field.startsWith('structures.') && code === 'layout/bad-name'
        ? text.replace('structure: house', "structure: 'Main House'")
        : text,
    );
    expect(faults.map((fault) => [fault.code, fault.field])).toEqual([[code, field]]);
    expect(faults[0]?.remedy).toMatch(remedy);
    expect(faults[0]?.file).toBe('sites/test.yaml');
    const missing = code === 'layout/missing-field' ? lineOfParent(text, field) : null;
    expect(faults[0]?.line).toBe(missing ?? lineOfField(text, field, line));
  });

  /** A missing field is reported where its owner stands. */
  function lineOfParent(text: string, field: string): number {
    const owner = field.split('.').at(-2);
    return owner === undefined ? 1 : text.split('\n').findIndex((row) => row.startsWith(`  ${owner}:`)) + 1;
  }

  /** The change may put lines before the faulty one: the fault stands on the last line of the change that holds the name. */
  function lineOfField(text: string, field: string, from: number): number {
    const name = field.split('.').at(-1) ?? '';
    const rows = text.split('\n');
    const second = rows.findIndex((row, index) => index >= from && row.trimStart().startsWith(`${name}:`));
    return field === 'weather' || field === 'places.a1' ? second + 1 : from;
  }
});

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
      "LAYOUT FAULT sites/test.yaml, line 15: pumps.pump.fuel: 'gal' could be US or Imperial gallons, which differ by 20 %: " +
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

describe('hostile text', () => {
  const verdict = (text: string): void => {
    const parsed = parseLayout(text, 'test.yaml');
    if (parsed.ok) return;
    expect(parsed.faults.length).toBeGreaterThan(0);
    for (const fault of parsed.faults) {
      expect(fault.line).toBeGreaterThanOrEqual(1);
      expect(fault.line).toBeLessThanOrEqual(text.split(/\r\n|\r|\n/).length);
      expect(fault.problem).not.toBe('');
      expect(fault.remedy).not.toBe('');
    }
  };

  test('any text is answered with faults, never with an exception', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 300 }), verdict));
  });

  test('a site with a stretch cut out, doubled or overwritten is answered too', () => {
    const spot = fc.nat(SITE.length);
    const noise = fc.string({ unit: fc.constantFrom(...'{}[]:,&*?-|>#\'"%@` \n\tab1'), maxLength: 12 });
    fc.assert(
      fc.property(spot, spot, noise, (a, b, put) =>
        verdict(SITE.slice(0, Math.min(a, b)) + put + SITE.slice(Math.max(a, b))),
      ),
      { numRuns: 150 },
    );
  });

  test('a value that is taken away never leaves a layout with a hole in it', () => {
    const rows = SITE.split('\n');
    fc.assert(
      fc.property(fc.nat(rows.length - 1), (row) => {
        const parsed = parseLayout(rows.filter((_, index) => index !== row).join('\n'), 'test.yaml');
        expect(parsed.ok ? JSON.stringify(parsed.layout) : '').not.toMatch(/:null,"(?!offset|line|device)|NaN/);
      }),
    );
  });

  test('marks that point at themselves or at nothing end', () => {
    for (const text of [
      'heads: &h { a: *h }',
      'heads: *nowhere',
      '&a name: &a x',
      `x: &x [${'*x, '.repeat(20_000)}]`,
    ]) {
      expect(faultsOf(text).length).toBeGreaterThan(0);
    }
  });
});
