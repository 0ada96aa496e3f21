/**
 * How fast the hydraulics are, as ratios measured in one run: against the EPANET engine called from the same process,
 * against a single solve, and against size. Run: node --import tsx tests/bench/hydraulics.ts [--json FILE]
 *
 * Times are medians of rounds that alternate between the two engines, so that a busy machine slows both.
 */
import { writeFileSync } from 'node:fs';
import { LinkProperty, NodeProperty, Project } from 'epanet-js';
import { assembleNetwork } from '../../gateway/core/hydraulics/assemble.ts';
import type { Parts } from '../../gateway/core/hydraulics/parts.ts';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { sensitivity } from '../../gateway/core/hydraulics/sensitivity.ts';
import type { Observable, Parameter } from '../../gateway/core/hydraulics/sensitivity.ts';
import { nothingWrong } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import { inputFile, openEngine } from '../oracle/epanet-twin.ts';
import { loopedSite } from './bench-site.ts';

interface Row {
  readonly what: string;
  readonly value: number;
  readonly unit: string;
  readonly aim: string;
}

const ROUNDS = 15;

/** Median seconds of one call, each contender measured in turn in every round. */
function medians(contenders: readonly (() => void)[], callsARound: number): number[] {
  const times = contenders.map(() => new Float64Array(ROUNDS));
  // Compilers warm up first: a gateway runs for weeks.
  contenders.forEach((call) => repeat(call, 20 * callsARound));
  for (let round = 0; round < ROUNDS; round++) {
    contenders.forEach((call, i) => (times[i]![round] = repeat(call, callsARound)));
  }
  return times.map((list) => list.sort()[Math.floor(ROUNDS / 2)]!);
}

function repeat(call: () => void, times: number): number {
  const start = process.hrtime.bigint();
  for (let i = 0; i < times; i++) call();
  return Number(process.hrtime.bigint() - start) / 1e9 / times;
}

/** One head after the other half plugged, solved from the solution of the whole site. */
function warmSolve(parts: Parts): () => void {
  const net = assembleNetwork(parts);
  const settings = nothingWrong(net);
  const whole = solve(net, settings);
  let head = 0;
  return () => {
    settings.headFactor[head] = 1;
    head = (head + 1) % net.headCount;
    settings.headFactor[head] = 0.5;
    if (!solve(net, settings, whole).converged) throw new Error('the bench site must converge');
  };
}

async function epanetSolve(parts: Parts): Promise<() => void> {
  const engine = await openEngine();
  const project = new Project(engine);
  const settings = nothingWrong(assembleNetwork(parts));
  const reach = {
    ...solve(assembleNetwork(parts), settings),
    heldShut: parts.pumps.map(() => false),
  };
  // Its own usual accuracy, and no damping: the fastest it is normally run.
  const text = inputFile(parts, settings, reach)
    .replace(/^(HEADERROR|FLOWCHANGE|DAMPLIMIT) .*\n/gm, '')
    .replace(/^ACCURACY .*$/m, 'ACCURACY 0.001');
  engine.writeFile('bench.inp', text);
  project.open('bench.inp', 'bench.rpt', 'bench.out');
  project.openH();
  const nodes = parts.heads.map((head) => project.getNodeIndex(parts.junctions[head.junction]!.name));
  const pump = project.getLinkIndex('pump');
  const whole = parts.heads[0]!.k * Math.sqrt(PA_PER_M) * 1000;
  let head = 0;
  return () => {
    project.setNodeValue(nodes[head]!, NodeProperty.Emitter, whole);
    head = (head + 1) % nodes.length;
    project.setNodeValue(nodes[head]!, NodeProperty.Emitter, whole / 2);
    project.initH(0);
    project.runH();
    project.getLinkValue(pump, LinkProperty.Flow);
  };
}

async function againstEpanet(heads: number, aim: string): Promise<Row[]> {
  const parts = loopedSite(heads);
  const calls = Math.max(3, Math.round(9000 / parts.junctions.length));
  const [ours, theirs] = medians([warmSolve(parts), await epanetSolve(parts)], calls) as [number, number];
  const size = `${heads} heads, ${parts.junctions.length} nodes`;
  return [
    { what: `warm re-solve, ${size}`, value: ours * 1e6, unit: 'us', aim: '' },
    { what: `EPANET, the same`, value: theirs * 1e6, unit: 'us', aim: '' },
    { what: `times faster, ${size}`, value: theirs / ours, unit: 'x', aim },
  ];
}

function sensitivityCost(heads: number): Row {
  const parts = loopedSite(heads);
  const net = assembleNetwork(parts);
  const settings = nothingWrong(net);
  const solution = solve(net, settings);
  const observables: Observable[] = [
    // Where sensors are screwed in: at places of the lay, never in a head.
    ...[0, 1, 2, 3, 4, 5, 6, 7].map((i): Observable => ({
      kind: 'pressure',
      node: net.nodeOfRow[Math.floor((i / 8) * net.system.size)]!,
    })),
    { kind: 'pump-flow', pump: 0 },
    { kind: 'suction', pump: 0 },
  ];
  const parameters: Parameter[] = [
    ...parts.heads.map((_, head): Parameter => ({ kind: 'head-factor', head })),
    ...parts.pipes.map((_, pipe): Parameter => ({ kind: 'hose-factor', pipe })),
    ...parts.junctions.map((_, node): Parameter => ({ kind: 'leak', node })),
    { kind: 'pump-speed', pump: 0 },
    { kind: 'source-level', source: 0 },
  ];
  const [one, matrix] = medians(
    [warmSolve(parts), () => void sensitivity(net, settings, solution, observables, parameters)],
    100,
  ) as [number, number];
  const what = `sensitivities, ${observables.length} x ${parameters.length}, in warm solves`;
  return { what, value: matrix / one, unit: 'solves', aim: 'under 3' };
}

/** Exponent of the growth of a warm solve from about 50 to 5,000 nodes. */
function growth(): Row {
  const small = loopedSite(25);
  const large = loopedSite(2270);
  const [a, b] = [medians([warmSolve(small)], 400)[0]!, medians([warmSolve(large)], 4)[0]!];
  const exponent = Math.log(b / a) / Math.log(large.junctions.length / small.junctions.length);
  return {
    what: `growth, ${small.junctions.length} to ${large.junctions.length} nodes`,
    value: exponent,
    unit: 'exponent',
    aim: '1.2 at most',
  };
}

const rows = [
  ...(await againstEpanet(60, '10 at least, 20 hoped for')),
  ...(await againstEpanet(455, '5 at least, 10 hoped for')),
  sensitivityCost(60),
  growth(),
];
for (const { what, value, unit, aim } of rows) {
  console.log(`${what.padEnd(56)} ${value.toPrecision(3).padStart(8)} ${unit.padEnd(9)} ${aim && `aim: ${aim}`}`);
}
const json = process.argv.indexOf('--json');
if (json > 0) writeFileSync(process.argv[json + 1]!, JSON.stringify(rows, null, 2) + '\n');
