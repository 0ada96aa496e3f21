/**
 * A finding: one trouble the diagnosis stands behind, before words are put to it.
 *
 * From the competition's rivals this picks the likeliest (cause, line) group, the set of places in it that cannot be
 * told apart, and what else it could be. Findings of one family at one subject share a key, so that 'leak' becoming
 * 'head off' on better evidence stays one alarm.
 */
import type { Cause, Estimate, Evidence, Verdict } from '../../../../config/wire/wire.ts';
import { keyOf } from '../causes/hypothesis.ts';
import type { Rival } from '../causes/rival.ts';
import type { Candidate, Found } from './candidate.ts';
import type { Question } from './next-check.ts';

export interface Finding {
  readonly key: string;
  readonly cause: Cause;
  readonly subject: string;
  readonly subjectKind: Verdict['subjectKind'];
  readonly places: readonly { readonly id: string; readonly probability: number }[];
  readonly sinceMs: number;
  readonly probability: number;
  readonly sizeM3s: Estimate | null;
  readonly evidence: readonly Evidence[];
  readonly rivals: readonly Rival[];
  /** What would tell the rivals apart best. */
  readonly question: Question | null;
  /** Extra facts for the wording, already SI: seconds left, share of speed lost, highest pressure. */
  readonly facts: {
    readonly leftS?: Estimate | null;
    /** How long it takes until what runs out is there, s; and whether that is under way, or comes as it always did. */
    readonly refillS?: number;
    readonly filling?: boolean;
    readonly usual?: boolean;
    readonly share?: number;
    readonly fuelOut?: boolean;
    readonly silentS?: number | null;
    readonly topPa?: number;
  };
}

/**
 * Judgement: share of the stated probability that the named set covers; the true place is then in it in some nine cases
 * of ten, because the stated spread is wide.
 */
const SET_COVER = 0.8;

/** Judgement: no flow meter here tells less, and no screen shows it. */
const LEAST_TOLD_M3S = 0.1 / 60_000;

/** A size that the pump can give; null: one that rounds to nothing. */
export function withinReach(size: Estimate, mostM3s: number): Estimate | null {
  const [best, low, high] = [size.best, size.low, size.high].map((value) => Math.min(value, Math.max(0, mostM3s)));
  return Math.abs(best!) < LEAST_TOLD_M3S ? null : { best: best!, low: low!, high: high! };
}

export function findingOf(
  found: Found,
  sinceMs: number,
  evidence: readonly Evidence[],
  sizeM3s: Estimate | null,
  question: Question | null,
): Finding {
  const groups = new Map<
    string,
    { top: Candidate; probability: number; members: { place: string; probability: number }[] }
  >();
  for (const rival of found.rivals) {
    if (rival.probability < 1e-4) continue;
    const { cause, subject, place } = rival.hypothesis;
    const name = `${cause}:${subject}`;
    const group = groups.get(name) ?? { top: rival, probability: 0, members: [] };
    group.probability += rival.probability;
    const known = group.members.find((member) => member.place === place);
    if (known) known.probability += rival.probability;
    else group.members.push({ place, probability: rival.probability });
    groups.set(name, group);
  }
  const ranked = [...groups.values()].sort((a, b) => b.probability - a.probability);
  const winner = ranked[0];
  if (!winner || found.unexplained > winner.probability) {
    const { subject, subjectKind } = found.best.hypothesis;
    return {
      key: `unexplained:${subject}`,
      cause: 'unexplained',
      subject,
      subjectKind,
      places: [],
      sinceMs,
      probability: found.unexplained,
      sizeM3s: null,
      evidence,
      rivals: others(ranked),
      question,
      facts: {},
    };
  }
  const { cause, subject, subjectKind } = winner.top.hypothesis;
  return {
    key: keyOf(cause, subject),
    cause,
    subject,
    subjectKind,
    sinceMs,
    probability: winner.probability,
    sizeM3s,
    evidence,
    places: covering(winner.members),
    rivals: others(ranked.slice(1)),
    question,
    facts: {},
  };
}

function covering(members: { place: string; probability: number }[]): { id: string; probability: number }[] {
  const sorted = members.sort((a, b) => b.probability - a.probability);
  const total = sorted.reduce((sum, member) => sum + member.probability, 0);
  const out: { id: string; probability: number }[] = [];
  let covered = 0;
  for (const { place, probability } of sorted) {
    if (covered >= SET_COVER) break;
    covered += probability / total;
    out.push({ id: place, probability: probability / total });
  }
  return out;
}

function others(groups: readonly { top: Candidate; probability: number }[]): Finding['rivals'] {
  return groups
    .filter(({ probability }) => probability > 0.01)
    .slice(0, 4)
    .map(({ top, probability }) => ({
      cause: top.hypothesis.cause,
      subject: top.hypothesis.subject,
      place: top.hypothesis.place,
      probability,
    }));
}
