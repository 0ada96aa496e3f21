/**
 * The state of every line, structure and head, from what is measured now and what the diagnosis stands behind.
 *
 * In: what the monitor of the lay, the pumps and the crew say. Out: states with their clause (line-state.ts,
 * structure-states.ts). What is unknown says what was last known. Limit: no state says that heads turn or that water
 * lands where it should.
 */
import type { Head } from '../../../../config/layout/layout.ts';
import { LINE_STATE_WORDS } from '../../../../config/wire/state-words.ts';
import type { HeadPicture, LinePicture, LineState, StructurePicture } from '../../../../config/wire/wire.ts';
import { standingOf, type HeadStanding } from '../../hydraulics/limits.ts';
import type { Finding } from '../isolation/finding.ts';
import { lineState, type StateInputs } from './line-state.ts';
import { countHeads, structureFlows, structureState, type Judged, type Told } from './structure-states.ts';

/** Judgement: a place that has so much of the probability is said of the head itself. */
const SUSPECT_SHARE = 0.2;

export interface States {
  readonly lines: readonly LinePicture[];
  readonly heads: readonly HeadPicture[];
  readonly structures: readonly StructurePicture[];
}

export class StateWatch {
  /** Where heads stood a moment ago. */
  #stood: ReadonlyMap<string, HeadStanding> = new Map();
  /** What was last known of lines and structures. */
  readonly #known = new Map<string, Told>();

  judge(inputs: StateInputs): States {
    const { layout } = inputs;
    const standings = new Map(layout.heads.map((head) => [head.id, this.#standing(head, inputs)] as const));
    const told = new Map(layout.lines.map(({ id }) => [id, lineState(id, standings, inputs)] as const));
    const judged = layout.heads.map((head, index) =>
      judgeHead(head, index, standings.get(head.id)!, told.get(head.line)!, inputs),
    );
    this.#stood = new Map(judged.flatMap(({ head, standing }) => (standing ? [[head.id, standing] as const] : [])));
    return {
      lines: layout.lines.map(({ id }) => ({
        line: id,
        ...this.#remembered(`line ${id}`, told.get(id)!),
        heads: countHeads(judged.filter(({ head }) => head.line === id)),
      })),
      heads: judged.map(({ picture }) => picture),
      structures: layout.structures.map(({ id }) => {
        const own = judged.filter(({ head }) => head.structure === id);
        return {
          structure: id,
          ...this.#remembered(`structure ${id}`, structureState(own, layout, told)),
          heads: countHeads(own),
          ...structureFlows(own),
          tally: null,
        };
      }),
    };
  }

  #standing(head: Head, { lay }: StateInputs): HeadStanding | null {
    const pressurePa = pressureOf(head.id, lay);
    return Number.isNaN(pressurePa) ? null : standingOf(head, pressurePa, this.#stood.get(head.id));
  }

  /** What is unknown says what was wrong when it was last known: it is not to look like what merely fell silent. */
  #remembered(key: string, { state, why }: Told): { state: LineState; why: string; last?: LineState } {
    if (state !== 'unknown') {
      this.#known.set(key, { state, why });
      return { state, why };
    }
    const last = this.#known.get(key);
    if (!last) return { state, why };
    const then = WRONG.includes(last.state) ? `; last known: ${LINE_STATE_WORDS[last.state]}, ${last.why}` : '';
    return { state, why: why + then, last: last.state };
  }
}

const WRONG: readonly LineState[] = ['down', 'running-short', 'running-over'];

function pressureOf(head: string, { present, expectation }: StateInputs['lay']): number {
  return present?.solution.pressurePa[expectation.network.nodeOfHead.get(head)!] ?? NaN;
}

function judgeHead(
  head: Head,
  index: number,
  standing: HeadStanding | null,
  line: Told,
  { lay, operations, boundary, pumpState, findings }: StateInputs,
): Judged {
  const suspect = findings.find((finding) =>
    finding.places.some((place) => place.id === head.id && place.probability > SUSPECT_SHARE),
  );
  // Told shut, and not seen shut yet: nobody can say.
  const awaited =
    line.state === 'shut-by-order' &&
    pumpState === 'running' &&
    !operations.shutByOrder(head.line, boundary.gateOpening);
  const idle = line.state === 'rigged-dry' || (line.state === 'shut-by-order' && !awaited);
  const dry = idle ? 'idle' : line.dry ? 'failed' : null;
  const known =
    lay.present !== null && dry === null && !awaited && line.state !== 'unknown' && line.state !== 'filling';
  return {
    head,
    standing: known ? standing : null,
    dry,
    suspect: suspect !== undefined,
    picture: {
      head: head.id,
      state: headState(known ? standing : null, dry, suspect?.cause),
      pressurePa: known && standing !== 'no-water' ? pressureOf(head.id, lay) : null,
      flowM3s: known
        ? standing === 'no-water'
          ? 0
          : lay.present!.solution.headFlowM3s[index]!
        : dry === null
          ? null
          : 0,
      seenTurningMs: operations.seenTurningMs.get(head.id) ?? null,
    },
  };
}

const HEAD_STATE_OF: Readonly<Record<HeadStanding, HeadPicture['state']>> = {
  'no-water': 'dry',
  'too-weak': 'short',
  turns: 'flowing',
  'too-strong': 'above-range',
  breaks: 'over-pressure',
};

function headState(
  standing: HeadStanding | null,
  dry: Judged['dry'],
  cause: Finding['cause'] | undefined,
): HeadPicture['state'] {
  if (dry === 'idle') return 'dry';
  if (cause === 'head-off') return 'off?';
  if (cause === 'plug') return 'plugged?';
  if (dry === 'failed') return 'dry';
  return standing === null ? 'unknown' : HEAD_STATE_OF[standing];
}
