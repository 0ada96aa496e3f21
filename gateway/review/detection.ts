/**
 * How what was flagged compares with what the crew found: what was seen how late, what was missed, what was false.
 *
 * In: alarm episodes, the truth track, the layout, the end of the run. Out: a row a class that the sensors could have
 * shown, the classes that they cannot show apart, and for each cause how its alarms turned out. An alarm is called
 * false only where somebody looked and found nothing, or where all was walked; of the rest nobody has said anything,
 * and that is its own column. Times in ms on the run's clock, lags in seconds, from the guessed beginning to the flag;
 * negative where the guess is later. Judgement: a guess of when it began may be ten minutes late; an alarm may still
 * come a minute after the end.
 */
import { causesOfFind, type Find, FINDS, FINDS_BY_EYES } from '../../config/causes/causes.ts';
import type { Layout } from '../../config/layout/layout.ts';
import type { AlarmFates, ClassRow } from '../../config/wire/review.ts';
import type { TruthEntry } from '../../config/wire/truth.ts';
import type { Episode } from './episodes.ts';

interface FoundRow {
  readonly entry: TruthEntry;
  /** The alarm that was about it; null: none. */
  readonly episode: Episode | null;
  readonly lagS: number | null;
  readonly acknowledgedLagS: number | null;
  readonly namedRight: boolean;
  readonly placeNamed: boolean;
}

export interface Detection {
  readonly found: readonly FoundRow[];
  readonly classes: readonly ClassRow[];
  readonly unseen: readonly ClassRow[];
  readonly alarms: readonly AlarmFates[];
}

const BEFORE_MS = 600_000;
const AFTER_MS = 60_000;

function isFind(what: TruthEntry['what']): what is Find {
  return FINDS.some((find) => find === what);
}

export function detectionOf(
  episodes: readonly Episode[],
  truth: readonly TruthEntry[],
  layout: Layout,
  endMs: number,
): Detection {
  const matched = new Set<Episode>();
  const found = truth.flatMap((entry) =>
    isFind(entry.what) ? [foundRow(entry, entry.what, episodes, layout, endMs)] : [],
  );
  for (const { episode } of found) if (episode) matched.add(episode);
  // Of one trouble there may be several alarms in turn: all that fit it are right.
  for (const { entry } of found)
    for (const episode of episodes)
      if (
        isFind(entry.what) &&
        causesOfFind(entry.what).includes(episode.verdict.cause) &&
        fits(episode, entry, layout, endMs)
      )
        matched.add(episode);
  const classes = [...new Set(found.map(({ entry }) => entry.what))].filter(isFind).map((what) =>
    classRow(
      what,
      found.filter(({ entry }) => entry.what === what),
    ),
  );
  return {
    found,
    classes: classes.filter(({ what }) => !FINDS_BY_EYES.includes(what)),
    unseen: classes.filter(({ what }) => FINDS_BY_EYES.includes(what)),
    alarms: alarmRows(episodes, matched, truth, layout, endMs),
  };
}

function foundRow(
  entry: TruthEntry,
  what: Find,
  episodes: readonly Episode[],
  layout: Layout,
  endMs: number,
): FoundRow {
  const own = episodes.filter(
    (episode) => causesOfFind(what).includes(episode.verdict.cause) && fits(episode, entry, layout, endMs),
  );
  const episode = own.reduce<Episode | null>(
    (best, one) => (best === null || one.raisedMs < best.raisedMs ? one : best),
    null,
  );
  const right = what === 'sensor-wrong' ? own.length > 0 : own.some(({ verdict }) => verdict.cause === what);
  return {
    entry,
    episode,
    namedRight: right,
    lagS: episode && (episode.raisedMs - entry.fromMs) / 1_000,
    acknowledgedLagS:
      episode && episode.acknowledgedMs !== null ? (episode.acknowledgedMs - episode.raisedMs) / 1_000 : null,
    placeNamed: own.some(
      ({ verdict }) => verdict.subject === entry.at || verdict.places.some(({ id }) => id === entry.at),
    ),
  };
}

function fits(episode: Episode, entry: TruthEntry, layout: Layout, endMs: number): boolean {
  return (
    episode.raisedMs >= entry.fromMs - BEFORE_MS &&
    episode.raisedMs <= (entry.toMs ?? endMs) + AFTER_MS &&
    covers(episode, entry.at, layout)
  );
}

/** Whether an alarm is about a place: names it, or the line it is on. Of a place that nobody knows, any will do. */
function covers({ verdict }: Episode, at: string | null, layout: Layout): boolean {
  if (
    at === null ||
    verdict.subjectKind === 'site' ||
    verdict.subject === at ||
    verdict.places.some(({ id }) => id === at)
  )
    return true;
  const part =
    layout.heads.find(({ id }) => id === at) ??
    layout.hoses.find(({ id }) => id === at) ??
    layout.gates.find(({ id }) => id === at);
  if (part) return part.line === null ? verdict.subjectKind === 'trunk' : verdict.subject === part.line;
  const structure = layout.structures.find(({ id }) => id === at);
  return (
    structure !== undefined &&
    layout.heads.some((head) => head.structure === structure.id && head.line === verdict.subject)
  );
}

function classRow(what: Find, rows: readonly FoundRow[]): ClassRow {
  const lags = rows.flatMap(({ lagS }) => (lagS === null ? [] : [lagS])).sort((a, b) => a - b);
  return {
    what,
    found: rows.length,
    flagged: rows.filter(({ episode }) => episode !== null).length,
    missed: rows.filter(({ episode }) => episode === null).length,
    namedRight: rows.filter(({ namedRight }) => namedRight).length,
    medianLagS: median(lags),
    worstLagS: lags.at(-1) ?? null,
  };
}

export function median(sorted: readonly number[]): number | null {
  if (sorted.length === 0) return null;
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

function alarmRows(
  episodes: readonly Episode[],
  matched: ReadonlySet<Episode>,
  truth: readonly TruthEntry[],
  layout: Layout,
  endMs: number,
): AlarmFates[] {
  const walkedMs = Math.max(
    -Infinity,
    ...truth.filter(({ what }) => what === 'walked-all').map(({ fromMs }) => fromMs),
  );
  const turnedOut = (episode: Episode): 'right' | 'otherName' | 'refuted' | 'unsaid' => {
    if (matched.has(episode)) return 'right';
    if (truth.some((entry) => isFind(entry.what) && entry.at !== null && fits(episode, entry, layout, endMs)))
      return 'otherName';
    const looked = truth.some(
      ({ what, at, fromMs, toMs }) =>
        what === 'nothing-wrong' &&
        at !== null &&
        fromMs <= (episode.goneMs ?? endMs) &&
        (toMs ?? fromMs) >= episode.raisedMs &&
        covers(episode, at, layout),
    );
    return looked || episode.raisedMs <= walkedMs ? 'refuted' : 'unsaid';
  };
  return [...new Set(episodes.map(({ verdict }) => verdict.cause))].sort().map((cause) => {
    const fates = episodes.filter(({ verdict }) => verdict.cause === cause).map(turnedOut);
    const count = (fate: (typeof fates)[number]): number => fates.filter((one) => one === fate).length;
    return {
      cause,
      alarms: fates.length,
      right: count('right'),
      otherName: count('otherName'),
      refuted: count('refuted'),
      unsaid: count('unsaid'),
    };
  });
}
