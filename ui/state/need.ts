/**
 * Which structure needs somebody first: hazards to people, then what runs and fails soonest, then what has failed, then
 * what has been unchecked for longest. What has failed has no deadline any more; what had failed when it was last
 * known, and is unknown now, stands with it.
 *
 * In: layout, picture. Out: one row a structure, worst first, with the time left of what feeds it (s), who saw its
 * heads turn when (ms), and the alarm that is a hazard to people there. What feeds a structure is what is joined to it
 * by hose, gates counted as open: a shut one shows in its state. Time left is that of the first water or fuel to run
 * out, or of its own head that a falling tank leaves short first.
 */
import type { Head, Layout, Structure } from '../../config/layout/layout.ts';
import { WORST_FIRST } from '../../config/wire/state-words.ts';
import type { Alarm, Estimate, HeadPicture, LineState, Picture, StructurePicture } from '../../config/wire/wire.ts';
import { spreads } from '../../gateway/core/hydraulics/limits.ts';

export const NEED_GROUPS = ['hazard', 'fails-next', 'failed', 'look'] as const;
export type NeedGroup = (typeof NEED_GROUPS)[number];

interface Left {
  readonly what: 'water' | 'fuel' | 'pressure';
  /** Source or pump; for pressure, the head that falls short first. */
  readonly of: string;
  readonly estimate: Estimate;
}

export interface Need {
  readonly structure: Structure;
  readonly group: NeedGroup;
  readonly now: StructurePicture | null;
  readonly hazard: Alarm | null;
  readonly left: Left | null;
  /** Longest without a look first. */
  readonly heads: readonly { readonly id: string; readonly now: HeadPicture | null; readonly seenMs: number | null }[];
  readonly unseen: number;
  /** Of the heads that were seen at all; null: none was. */
  readonly oldestSeenMs: number | null;
  /** Water runs and some head of it turns, as far as can be known. */
  readonly works: boolean;
  /** Since when the first trouble stands that is about its lines or heads; null: none does. */
  readonly troubleMs: number | null;
}

/** Judgement: what lasts longer than an hour does not come before what has failed already. */
const SOON_S = 3_600;
const WORKS: readonly LineState[] = ['as-modelled', 'changed', 'running-short', 'running-over', 'filling'];

export function orderOfNeed(layout: Layout, picture: Picture): Need[] {
  const pumps = pumpsOfStructures(layout);
  return layout.structures
    .map((structure) => needOf(structure, layout, picture, pumps.get(structure.id)!))
    .sort(worstFirst);
}

function needOf(structure: Structure, layout: Layout, picture: Picture, pumps: ReadonlySet<string>): Need {
  const now = picture.structures.find((one) => one.structure === structure.id) ?? null;
  const own = layout.heads.filter((head) => head.structure === structure.id);
  const heads = own
    .map(({ id }) => picture.heads.find((one) => one.head === id) ?? null)
    .map((head, index) => ({ id: own[index]!.id, now: head, seenMs: head?.seenTurningMs ?? null }))
    .sort((a, b) => (a.seenMs ?? -Infinity) - (b.seenMs ?? -Infinity) || 0);
  const about = new Set([structure.id, ...pumps, ...own.flatMap((head) => [head.id, head.line])]);
  const hazard =
    picture.alarms.find(
      (alarm) =>
        alarm.priority === 'people' &&
        alarm.clearedMs === null &&
        (about.has(alarm.verdict.subject) || alarm.verdict.subjectKind === 'site'),
    ) ?? null;
  const works = now !== null && WORKS.includes(now.state);
  const left = works
    ? firstToRunOut(
        layout,
        picture,
        pumps,
        heads.filter((head) => head.now !== null && spreads(head.now.state)).map(({ id }) => id),
      )
    : null;
  const seen = heads.flatMap(({ seenMs }) => seenMs ?? []);
  return {
    structure,
    now,
    hazard,
    left,
    heads,
    group: groupOf(now, left, hazard),
    unseen: heads.length - seen.length,
    oldestSeenMs: seen.length === 0 ? null : Math.min(...seen),
    works,
    troubleMs: troubleSince(about, picture),
  };
}

/** Since when the first trouble stands that is about one of these or about all of the site; null: none does. */
function troubleSince(about: ReadonlySet<string>, { alarms, setAside }: Picture): number | null {
  const sinceMs = [...alarms, ...setAside]
    .filter(
      ({ clearedMs, verdict: { subject, subjectKind } }) =>
        clearedMs === null && (about.has(subject) || subjectKind === 'trunk' || subjectKind === 'site'),
    )
    .map(({ verdict }) => verdict.sinceMs);
  return sinceMs.length === 0 ? null : Math.min(...sinceMs);
}

/** The same of one head: of itself, its line, and the pumps whose water gets to it. */
export function troubleOfHead({ id, line, structure }: Head, layout: Layout, picture: Picture): number | null {
  return troubleSince(new Set([id, line, ...pumpsOfStructures(layout).get(structure)!]), picture);
}

function groupOf(now: StructurePicture | null, left: Left | null, hazard: Alarm | null): NeedGroup {
  if (hazard) return 'hazard';
  if (now?.state === 'running-short' || (left && left.estimate.best < SOON_S)) return 'fails-next';
  return now?.state === 'down' || (now?.state === 'unknown' && now.last === 'down') ? 'failed' : 'look';
}

function firstToRunOut(
  layout: Layout,
  picture: Picture,
  pumps: ReadonlySet<string>,
  heads: readonly string[],
): Left | null {
  const fed = layout.pumps.filter(({ id }) => pumps.has(id));
  const fuel = fed.map(({ id }) => ({
    what: 'fuel' as const,
    of: id,
    estimate: picture.pumps.find((one) => one.pump === id)?.fuelLeftS ?? null,
  }));
  const water = fed
    .filter(({ inlet }) => inlet === null)
    .map(({ source }) => ({
      what: 'water' as const,
      of: source,
      estimate: picture.supplies.find((one) => one.source === source)?.emptyInS ?? null,
    }));
  const short = picture.supplies.flatMap(({ firstShort }) =>
    firstShort && heads.includes(firstShort.head)
      ? [{ what: 'pressure' as const, of: firstShort.head, estimate: firstShort.inS }]
      : [],
  );
  return (
    [...water, ...fuel, ...short]
      .flatMap(({ estimate, ...rest }) => (estimate ? [{ ...rest, estimate }] : []))
      .sort((a, b) => a.estimate.best - b.estimate.best)[0] ?? null
  );
}

function worstFirst(a: Need, b: Need): number {
  const severity = (need: Need): number => WORST_FIRST.indexOf(need.now?.state ?? 'unknown');
  const leftS = (need: Need): number => need.left?.estimate.best ?? Number.MAX_VALUE;
  const looked = (need: Need): number =>
    need.unseen > 0 ? -Number.MAX_VALUE : (need.oldestSeenMs ?? Number.MAX_VALUE);
  const known = (need: Need): number => (need.now?.state === 'unknown' ? 0 : 1);
  return (
    NEED_GROUPS.indexOf(a.group) - NEED_GROUPS.indexOf(b.group) ||
    (a.group === 'look'
      ? known(a) - known(b) || looked(a) - looked(b) || b.unseen - a.unseen
      : leftS(a) - leftS(b) || severity(a) - severity(b)) ||
    a.structure.priority - b.structure.priority
  );
}

/** What these heads put down as wetting, m3/s; null: not known of one of them. */
export function wettingM3s(heads: readonly (HeadPicture | null)[]): number | null {
  if (heads.some((head) => !head || head.flowM3s === null)) return null;
  return heads.reduce((sum, head) => sum + (head && spreads(head.state) ? (head.flowM3s ?? 0) : 0), 0);
}

const known = new WeakMap<Layout, ReadonlyMap<string, ReadonlySet<string>>>();

/** Per structure the pumps whose water can get there; a booster brings its upstream pump along. */
function pumpsOfStructures(layout: Layout): ReadonlyMap<string, ReadonlySet<string>> {
  const before = known.get(layout);
  if (before) return before;
  const joins = [...layout.hoses, ...layout.gates].map(({ from, to }) => [from, to] as const);
  const boosts = layout.pumps.flatMap(({ inlet, outlet }) => (inlet === null ? [] : [[inlet, outlet] as const]));
  const reached = layout.pumps.map((pump) => {
    const places = new Set([pump.outlet]);
    // A place that is added while the set is walked is walked too.
    for (const place of places) {
      for (const [from, to] of joins) {
        if (from === place) places.add(to);
        if (to === place) places.add(from);
      }
      for (const [inlet, outlet] of boosts) if (inlet === place) places.add(outlet);
    }
    return { pump: pump.id, places };
  });
  const found = new Map(
    layout.structures.map(({ id }) => {
      const at = layout.heads.filter((head) => head.structure === id).map((head) => head.at);
      return [
        id,
        new Set(reached.filter(({ places }) => at.some((place) => places.has(place))).map(({ pump }) => pump)),
      ] as const;
    }),
  );
  known.set(layout, found);
  return found;
}
