/**
 * The state of a structure from its own heads, whatever else hangs on their lines; and how heads are counted in words.
 *
 * In: judged heads, what is told of the lines. Out: counts, state with its clause, flows (m3/s). Failed: not one head
 * that should run has turning pressure. Low: some have not. Heads that are dry because people want it so count for
 * neither. Limit: a head that may be off or plugged counts by its pressure; that it may give no water is said beside.
 */
import type { Head, Layout } from '../../../../config/layout/layout.ts';
import { WORST_FIRST } from '../../../../config/wire/state-words.ts';
import type { HeadCount, HeadPicture, LineState, StructurePicture } from '../../../../config/wire/wire.ts';
import { spreads, type HeadStanding } from '../../hydraulics/limits.ts';

/** What is told of one line or structure. */
export interface Told {
  readonly state: LineState;
  readonly why: string;
  /** What it is put down to, where others are to say so too. */
  readonly because?: string;
  /** The clause without the count of its heads. */
  readonly plain?: string;
  /** There is no water on it, whatever the model says. */
  readonly dry?: boolean;
}

export interface Judged {
  readonly head: Head;
  readonly picture: HeadPicture;
  /** Where its modelled pressure stands; null: nothing can be said, or there is no water on its line. */
  readonly standing: HeadStanding | null;
  /** Without water: because people want it so, or though it should have some. */
  readonly dry: 'idle' | 'failed' | null;
  readonly suspect: boolean;
}

export function countHeads(own: readonly Judged[]): HeadCount {
  const count = (fits: (one: Judged) => boolean): number => own.filter(fits).length;
  return {
    total: own.length,
    low: count(({ standing }) => standing === 'too-weak'),
    dry: count(({ dry, standing }) => dry === 'failed' || standing === 'no-water'),
    idle: count(({ dry }) => dry === 'idle'),
    over: count(({ standing }) => standing === 'too-strong' || standing === 'breaks'),
    unknown: count(({ dry, standing }) => dry === null && standing === null),
  };
}

/** 'all 5 heads under turning pressure', '2 of its 5 heads under turning pressure and 1 without water'. */
export function headsWords({ total, low, dry }: Pick<HeadCount, 'total' | 'low' | 'dry'>): string {
  const parts = [
    ...(low > 0 ? [{ many: low, words: 'under turning pressure' }] : []),
    ...(dry > 0 ? [{ many: dry, words: 'without water' }] : []),
  ];
  return parts
    .map(({ many, words }, index) => (index === 0 ? `${ofHeads(many, total)} ${words}` : `${many} ${words}`))
    .join(' and ');
}

export function overWords(total: number, over: number, breaks: boolean): string {
  return `${ofHeads(over, total)} above the pressure range${breaks ? ', past what some survive' : ''}`;
}

function ofHeads(many: number, total: number): string {
  if (total === 1) return 'its only head';
  return many === total ? `all ${total} heads` : `${many} of its ${total} heads`;
}

export function structureState(own: readonly Judged[], layout: Layout, told: ReadonlyMap<string, Told>): Told {
  if (own.length === 0) return { state: 'unknown', why: 'no head is assigned to it' };
  const serving = layout.lines
    .filter(({ id }) => own.some(({ head }) => head.line === id))
    .map(({ id, label }) => ({ label, line: told.get(id)! }))
    .sort((a, b) => WORST_FIRST.indexOf(a.line.state) - WORST_FIRST.indexOf(b.line.state));
  const named = ({ label, line }: (typeof serving)[number], words: string): string =>
    serving.length > 1 && serving.some((other) => other.line !== line && other.line.why !== line.why)
      ? `${label}: ${words}`
      : words;
  const worst = serving[0]!;
  const { total, low, dry, idle, over, unknown } = countHeads(own);
  const active = total - idle;
  if (active === 0) return { state: worst.line.state, why: named(worst, worst.line.why) };
  const because = serving.find(({ line }) => line.because !== undefined);
  const cause = because ? `; ${named(because, because.line.because!)}` : '';
  if (low + dry === active) {
    // A line without water says why itself; its own count is not this structure's.
    const plain = low === 0 && worst.line.dry === true;
    const why = plain ? named(worst, worst.line.why) : headsWords({ total, low, dry }) + cause;
    return { state: 'down', why };
  }
  if (low + dry > 0) {
    const blind = unknown > 0 ? `, ${unknown} unknown` : '';
    const without = dry > 0 ? serving.find(({ line }) => line.dry === true) : undefined;
    const dryWhy = without ? `; ${named(without, without.line.why)}` : '';
    return { state: 'running-short', why: headsWords({ total, low, dry }) + blind + (dryWhy || cause) };
  }
  if (unknown > 0) {
    const blind = serving.find(({ line }) => line.state === 'unknown' || line.state === 'filling') ?? worst;
    return { state: blind.line.state, why: named(blind, blind.line.why) };
  }
  if (own.some(({ standing }) => standing === 'breaks'))
    return { state: 'running-over', why: overWords(total, over, true) + cause };
  const above = over > 0 ? `; ${overWords(total, over, false)}` : '';
  const running = serving.filter(({ line }) => line.state !== 'shut-by-order' && line.state !== 'rigged-dry');
  const first = running[0] ?? worst;
  if (first.line.state === 'as-modelled' || first.line.state === 'changed')
    return { state: first.line.state, why: named(first, first.line.plain ?? first.line.why) + above };
  // Heads elsewhere on its line are out of their range, its own are not.
  return {
    state: 'changed',
    why: `its own heads are in their range, others on ${first.label} are not${cause}${above}`,
  };
}

/** All that its heads give, and what of it falls as wetting; null: not known of every head. */
export function structureFlows(own: readonly Judged[]): Pick<StructurePicture, 'flowM3s' | 'spreadM3s'> {
  const sum = (heads: readonly Judged[]): number => heads.reduce((all, { picture }) => all + (picture.flowM3s ?? 0), 0);
  if (own.length === 0 || own.some(({ picture }) => picture.flowM3s === null))
    return { flowM3s: null, spreadM3s: null };
  return { flowM3s: sum(own), spreadM3s: sum(own.filter(({ picture }) => spreads(picture.state))) };
}
