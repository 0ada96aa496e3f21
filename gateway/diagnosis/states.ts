/**
 * The state of every line, structure and head, from what is measured now and what the diagnosis stands behind.
 *
 * 'As modelled' needs fresh data from the pump and from the line's own end, inside the band, with nothing found on it.
 * A line without a sensor of its own is unknown while it runs. Limit: no state says that heads turn or that water
 * lands where it should.
 */
import type { Layout, Structure } from '../../config/layout.ts';
import type {
  ChannelPicture,
  HeadPicture,
  LinePicture,
  LineState,
  PumpState,
  StructurePicture,
} from '../../config/wire.ts';
import type { Operations } from '../operations/entries.ts';
import type { Finding } from './finding.ts';
import type { LayWatch } from './lay-watch.ts';

export interface StateInputs {
  readonly layout: Layout;
  readonly pumpState: PumpState;
  /** A pump turns but makes no pressure. */
  readonly runningDry: boolean;
  /** A pump ran and nobody ordered it to stop. */
  readonly stoppedUnasked: boolean;
  readonly operations: Operations;
  readonly channels: ReadonlyMap<string, ChannelPicture>;
  readonly findings: readonly Finding[];
  readonly lay: LayWatch;
  /** Heads that were short a moment ago. */
  readonly short: ReadonlySet<string>;
}

/** Judgement: below this a line end holds no useful water. */
export const EMPTY_PA = 30_000;
/** Judgement: a line that lost a twentieth of its pressure to the trunk is short. */
const STARVED_SHARE = 0.95;
/** Judgement: a head that was short is so until it has this much more than what turns it. */
const DEAD_BAND = 1.03;

export function lineStates(inputs: StateInputs): LinePicture[] {
  return inputs.layout.lines.map((line) => ({ line: line.id, ...lineState(line.id, inputs) }));
}

type Told = { readonly state: LineState; readonly why: string };

function lineState(line: string, inputs: StateInputs): Told {
  const { pumpState, operations, layout } = inputs;
  if (operations.shutByOrder(line)) return { state: 'shut-by-order', why: 'its gate is shut by order' };
  if (pumpState === 'unknown') return { state: 'unknown', why: 'no fresh data from the pump' };
  if (pumpState === 'stopped') {
    return inputs.stoppedUnasked
      ? { state: 'down', why: 'the pump has stopped' }
      : { state: 'rigged-dry', why: 'rigged, pump not running' };
  }
  if (pumpState === 'dead-head') return { state: 'down', why: 'the pump turns against a shut lay: nothing flows' };
  if (inputs.runningDry) return { state: 'down', why: 'the pump turns but makes no pressure' };
  const ends = layout.sensors.filter((sensor) => sensor.line === line && sensor.quantity === 'pressure');
  const end = ends.map((sensor) => inputs.channels.get(sensor.id)!).find((channel) => channel.freshness !== 'never');
  if (!end)
    return { state: 'unknown', why: ends.length === 0 ? 'no sensor on this line' : 'nothing heard from its line end' };
  if (end.freshness === 'stale' || end.doubt === 'stuck' || end.doubt === 'out-of-range') {
    return {
      state: 'unknown',
      why: end.freshness === 'stale' ? 'its line end has gone silent' : 'its line-end sensor cannot be trusted',
    };
  }
  if (pumpState === 'starting') return { state: 'filling', why: 'the lay is filling' };
  if (!inputs.lay.present)
    return { state: 'unknown', why: 'nothing can be expected of it without fresh pump readings' };
  return runningState(line, end, inputs);
}

function runningState(line: string, end: ChannelPicture, inputs: StateInputs): Told {
  const own = inputs.findings.find((finding) => finding.subjectKind === 'line' && finding.subject === line);
  if (end.value !== null && end.value < EMPTY_PA) return { state: 'down', why: 'no pressure at its end' };
  if (own?.cause === 'gate-shut') return { state: 'down', why: 'its gate looks shut' };
  // Past the end of its range it is at least that, so its line is not short of pressure, and nothing else is known of it.
  if (end.doubt === 'over-range' && !own)
    return { state: 'as-modelled', why: 'its end is past its gauge: at least as much as that can read' };
  const short = inputs.layout.heads.filter(
    (head) => head.line === line && headPressure(head.id, inputs) < leastPa(head, inputs),
  );
  if (short.length > 0)
    return { state: 'running-short', why: `${short.length} of its heads below the pressure that turns them` };
  if (own) return { state: 'running-short', why: `a ${own.cause.replace('-', ' ')} is the likeliest reading` };
  const trunk = inputs.findings.find((finding) => finding.subject === 'trunk');
  if (trunk && shareLeft(end.channel, inputs.lay) < STARVED_SHARE) {
    return {
      state: 'running-short',
      why: `the trunk is not as it was: a ${trunk.cause.replace('-', ' ')} is the likeliest reading`,
    };
  }
  if (inputs.findings.some((finding) => finding.subjectKind === 'channel' && finding.subject === end.channel)) {
    return { state: 'unknown', why: 'its line-end sensor reads off' };
  }
  if (inputs.lay.gauges.some((gauge, index) => gauge.sensor.id === end.channel && inputs.lay.strays[index])) {
    return { state: 'unknown', why: 'its end does not read as it should; no cause named yet' };
  }
  return {
    state: 'as-modelled',
    why: inputs.lay.calibrated ? 'pressure and flow match the baseline' : 'within the wide bands of an unwalked lay',
  };
}

/** Pressure that a gauge should hold with what was found, over what it should hold without. */
function shareLeft(channel: string, { gauges, present, healthy }: LayWatch): number {
  const gauge = gauges.findIndex((candidate) => candidate.sensor.id === channel);
  return gauge < 0 || !present || !healthy ? NaN : present.values[gauge]! / healthy.values[gauge]!;
}

function headPressure(head: string, { lay }: StateInputs): number {
  const node = lay.expectation.network.nodeOfHead.get(head)!;
  return lay.present?.solution.pressurePa[node] ?? NaN;
}

function leastPa({ id, kit }: Layout['heads'][number], { short }: StateInputs): number {
  return short.has(id) ? DEAD_BAND * kit.turnPaMin : kit.turnPaMin;
}

export function headStates(inputs: StateInputs, lines: readonly LinePicture[]): HeadPicture[] {
  const { layout, lay, operations } = inputs;
  const stateOf = new Map(lines.map((line) => [line.line, line.state]));
  return layout.heads.map((head, index) => {
    const line = stateOf.get(head.line)!;
    const wet = lay.present !== null && line !== 'unknown' && line !== 'filling';
    const pressure = wet ? headPressure(head.id, inputs) : null;
    const suspect = inputs.findings.find((finding) =>
      finding.places.some((place) => place.id === head.id && place.probability > 0.2),
    );
    return {
      head: head.id,
      state: headState(line, pressure, leastPa(head, inputs), head.kit.survivesPa, suspect),
      pressurePa: pressure,
      flowM3s: wet ? lay.present!.solution.headFlowM3s[index]! : null,
      seenTurningMs: operations.seenTurningMs.get(head.id) ?? null,
    };
  });
}

function headState(
  line: LineState,
  pressurePa: number | null,
  least: number,
  most: number,
  suspect: Finding | undefined,
): HeadPicture['state'] {
  if (line === 'rigged-dry' || line === 'shut-by-order') return 'dry';
  if (suspect?.cause === 'head-off') return 'off?';
  if (suspect?.cause === 'plug') return 'plugged?';
  if (line === 'down') return 'dry';
  if (pressurePa === null) return 'unknown';
  if (pressurePa > most) return 'over-pressure';
  return pressurePa < least ? 'short' : 'flowing';
}

/** Worst first: what makes a structure's state. */
const WORST: readonly LineState[] = [
  'down',
  'running-short',
  'unknown',
  'filling',
  'shut-by-order',
  'rigged-dry',
  'as-modelled',
];

export function structureStates(
  layout: Layout,
  lines: readonly LinePicture[],
  heads: readonly HeadPicture[],
): StructurePicture[] {
  return layout.structures.map((structure) => structureState(structure, layout, lines, heads));
}

function structureState(
  structure: Structure,
  layout: Layout,
  lines: readonly LinePicture[],
  heads: readonly HeadPicture[],
): StructurePicture {
  const own = layout.heads.filter((head) => head.structure === structure.id);
  if (own.length === 0)
    return { structure: structure.id, state: 'unknown', why: 'no head is assigned to it', flowM3s: null, tally: null };
  const serving = lines.filter((line) => own.some((head) => head.line === line.line));
  const sorted = [...serving].sort((a, b) => WORST.indexOf(a.state) - WORST.indexOf(b.state));
  const worst = sorted[0]!;
  const flows = own.map((head) => heads.find((picture) => picture.head === head.id)!.flowM3s);
  const known = flows.every((flow) => flow !== null);
  const partly =
    worst.state === 'down' && serving.some((line) => line.state === 'as-modelled' || line.state === 'running-short');
  const name = layout.lines.find((line) => line.id === worst.line)!.label;
  return {
    structure: structure.id,
    state: partly ? 'running-short' : worst.state,
    why: serving.length > 1 || partly ? `${name}: ${worst.why}` : worst.why,
    flowM3s: known ? flows.reduce((sum: number, flow) => sum + (flow ?? 0), 0) : null,
    tally: null,
  };
}
