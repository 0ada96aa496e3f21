/**
 * The invented sites of the repository: they parse, they hold what the demonstration promises, and their pump can turn
 * every head.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import { formatFault } from '../../config/layout/layout-fault.ts';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { asRigged } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';

const FOLDER = 'config/sites';

function site(fileName: string): Layout {
  const parsed = parseLayout(readFileSync(`${FOLDER}/${fileName}`, 'utf8'), `${FOLDER}/${fileName}`);
  if (!parsed.ok) throw new Error(parsed.faults.map(formatFault).join('\n'));
  return parsed.layout;
}

function flowing(
  layout: Layout,
  speed: number,
): { flowLpm: number; dischargePa: number; nozzlePa: Map<string, number> } {
  const network = buildNetwork(layout);
  const settings = asRigged(network);
  settings.pumpSpeed.fill(speed);
  const solution = solve(network, settings);
  expect(solution.converged).toBe(true);
  const at = (nodes: ReadonlyMap<string, number>, id: string): number =>
    solution.pressurePa[nodes.get(id) ?? -1] ?? Number.NaN;
  return {
    flowLpm: (solution.pumpFlowM3s[0] ?? Number.NaN) * 60_000,
    dischargePa: at(network.nodeOfPlace, layout.pumps[0]?.outlet ?? ''),
    nozzlePa: new Map(layout.heads.map((head) => [head.id, at(network.nodeOfHead, head.id)])),
  };
}

test.each(readdirSync(FOLDER))('%s is a layout', (fileName) => {
  expect(site(fileName).site).toBe(fileName.replace('.yaml', ''));
});

describe('Larch Cove', () => {
  const layout = site('larch-cove.yaml');

  test('holds every family and size of head, on at least six structures', () => {
    expect(layout.structures.length).toBeGreaterThanOrEqual(6);
    expect(layout.heads.length).toBeGreaterThanOrEqual(30);
    expect(new Set(layout.heads.map((head) => head.kit.id))).toEqual(
      new Set(['impact-1', 'impact-3-4', 'impact-1-2', 'rotator-large', 'rotator-small', 'spinner']),
    );
    expect(new Set(layout.heads.map((head) => head.mount))).toEqual(
      new Set(['ground-spike', 'gable-bracket', 'post', 'gutter', 'ridge', 'deck']),
    );
    for (const structure of layout.structures) {
      expect(
        layout.heads.some((head) => head.structure === structure.id),
        structure.id,
      ).toBe(true);
    }
  });

  test('has a closed trunk loop and one gate before each line', () => {
    const trunk = layout.hoses.filter((hose) => hose.line === null);
    const ends = new Set(trunk.flatMap((hose) => [hose.from, hose.to]));
    expect(trunk.length).toBe(ends.size);
    for (const line of layout.lines) expect(layout.gates.filter((gate) => gate.line === line.id)).toHaveLength(1);
  });

  test('measures what the diagnosis needs, and one pressure at the end of each line', () => {
    const pumpBox = layout.sensors.filter((sensor) => sensor.device === 'pump-box').map((sensor) => sensor.id);
    expect(pumpBox).toEqual(['discharge', 'suction', 'flow', 'speed', 'level', 'fuel', 'air']);
    for (const line of layout.lines) {
      const end = layout.sensors.filter((sensor) => sensor.line === line.id);
      expect(end).toHaveLength(1);
      expect(end[0]).toMatchObject({
        quantity: 'pressure',
        min: 0,
        max: 1e6,
        noiseSd: 3000,
        offsetSd: 4000,
        intervalS: 1,
      });
    }
  });

  test('a percentage of noise is of the span of the range, wherever that begins', () => {
    const noise = (id: string): number | undefined => layout.sensors.find((sensor) => sensor.id === id)?.noiseSd;
    expect(noise('discharge')).toBeCloseTo(0.001 * 2_500_000, 9);
    expect(noise('suction')).toBeCloseTo(0.003 * 250_000, 9);
  });

  test('turns every head at rated speed and slightly throttled', () => {
    for (const speed of [1, 0.97, 0.92]) {
      const run = flowing(layout, speed);
      for (const { id, kit } of layout.heads) {
        expect(run.nozzlePa.get(id), `${id} at ${speed}`).toBeGreaterThan(kit.turnPaMin);
        expect(run.nozzlePa.get(id), `${id} at ${speed}`).toBeLessThan(kit.turnPaMax);
      }
    }
    const { flowLpm, dischargePa } = flowing(layout, 0.97);
    expect(flowLpm).toBeGreaterThan(400);
    expect(flowLpm).toBeLessThan(550);
    expect(dischargePa).toBeGreaterThan(600_000);
    expect(dischargePa).toBeLessThan(800_000);
  });
});

describe('Quarry Road', () => {
  const layout = site('quarry-road.yaml');

  test('describes its own pump, hose and head, and drafts from open water', () => {
    expect(layout.pumps[0]?.kit).toMatchObject({
      id: 'pump-kit',
      ratedRotationHz: 60,
      curveSd: 0.08,
      control: 'throttle',
    });
    expect(layout.hoses.find((hose) => hose.id === 'n-hose-1')?.kit).toMatchObject({
      friction: { law: 'coefficient', c: 48 },
      resistanceSd: 0.3,
    });
    expect(layout.heads.find((head) => head.id === 'n-2')?.kit).toMatchObject({
      id: 'n-2-kit',
      family: 'impact',
      light: false,
    });
    expect(layout.sources[0]?.shape).toEqual({ kind: 'open-water' });
    expect(layout.sensors.filter((sensor) => sensor.intervalS === 30)).toHaveLength(layout.lines.length);
  });

  test('turns every head at rated speed', () => {
    const run = flowing(layout, 1);
    for (const { id, kit } of layout.heads) {
      expect(run.nozzlePa.get(id), id).toBeGreaterThan(kit.turnPaMin);
      expect(run.nozzlePa.get(id), id).toBeLessThan(kit.turnPaMax);
    }
  });
});

test('a head described by flow at a pressure discharges just that', () => {
  const kit = site('quarry-road.yaml').heads.find((head) => head.id === 'n-2')?.kit;
  expect((kit?.k ?? Number.NaN) * Math.sqrt(300_000) * 60_000).toBeCloseTo(22, 9);
});

test('what the parser hands out cannot be changed', () => {
  const layout = site('quarry-road.yaml');
  expect(Object.isFrozen(layout)).toBe(true);
  expect(Object.isFrozen(layout.heads[0]?.kit)).toBe(true);
  expect(Object.isFrozen(layout.structures[0]?.outlineM[0])).toBe(true);
});
