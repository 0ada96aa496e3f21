/**
 * How long every line, structure and head was up, short, down, shut, or nobody could say.
 *
 * In: recorded pictures in order (one whenever a state changed, one a minute at least). Out: seconds by state, and the
 * states of the lines as stretches. A state holds until the next picture; a longer silence than the record allows is
 * unknown. Counted from the moment it was first more than rigged. Limit: 'flowing' is up, though nobody says that the
 * head turned.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Stretch, Timeline, UpTime } from '../../config/wire/review.ts';
import { WORST_FIRST } from '../../config/wire/state-words.ts';
import type { HeadPicture, LineState, Picture } from '../../config/wire/wire.ts';

/** A whole picture comes once a minute; a frame or two may be late. */
export const HOLE_MS = 90_000;

type Share = 'rigged' | 'upS' | 'shortS' | 'downS' | 'unknownS' | 'fillingS' | 'shutS';
type Sums = Record<Exclude<Share, 'rigged'>, number>;

const OF_LINE: Readonly<Record<LineState, Share>> = {
  'rigged-dry': 'rigged',
  filling: 'fillingS',
  'as-modelled': 'upS',
  // Not as it should be: never counted as up.
  changed: 'shortS',
  'running-short': 'shortS',
  'running-over': 'shortS',
  down: 'downS',
  'shut-by-order': 'shutS',
  unknown: 'unknownS',
};
const OF_HEAD: Readonly<Record<Exclude<HeadPicture['state'], 'dry' | 'unknown'>, Share>> = {
  flowing: 'upS',
  short: 'shortS',
  'off?': 'shortS',
  'plugged?': 'shortS',
  'above-range': 'shortS',
  'over-pressure': 'shortS',
};

export class UpTimes {
  readonly #layout: Layout;
  readonly #sums = new Map<string, Sums>();
  readonly #spans = new Map<string, (Stretch & { state: LineState })[]>();
  readonly holes: Stretch[] = [];

  constructor(layout: Layout) {
    this.#layout = layout;
  }

  /** What `picture` showed, until `toMs`. */
  hold(picture: Picture, toMs: number): void {
    const isHole = toMs - picture.atMs > HOLE_MS;
    if (isHole) this.holes.push({ fromMs: picture.atMs, toMs });
    const seconds = (toMs - picture.atMs) / 1_000;
    const shareOf = (share: Share): Share => (isHole ? 'unknownS' : share);
    const lines = new Map(picture.lines.map(({ line, state }) => [line, state]));
    for (const { line, state } of picture.lines) {
      this.#add(`line ${line}`, shareOf(OF_LINE[state]), seconds);
      this.#span(line, isHole ? 'unknown' : state, picture.atMs, toMs);
    }
    for (const { structure, state } of picture.structures)
      this.#add(`structure ${structure}`, shareOf(OF_LINE[state]), seconds);
    this.#layout.heads.forEach((head) => {
      const state = picture.heads.find((one) => one.head === head.id)?.state ?? 'unknown';
      // A dry head is as its line is: rigged, shut by order, or down.
      const line = OF_LINE[lines.get(head.line) ?? 'unknown'];
      const dry = line === 'rigged' || line === 'shutS' ? line : 'downS';
      const unknown = line === 'fillingS' ? line : 'unknownS';
      this.#add(
        `head ${head.id}`,
        shareOf(state === 'dry' ? dry : state === 'unknown' ? unknown : OF_HEAD[state]),
        seconds,
      );
    });
  }

  get rows(): UpTime[] {
    const { lines, structures, heads } = this.#layout;
    const row = (kind: UpTime['kind'], id: string): UpTime => {
      const sums = this.#sums.get(`${kind} ${id}`) ?? {
        upS: 0,
        shortS: 0,
        downS: 0,
        unknownS: 0,
        fillingS: 0,
        shutS: 0,
      };
      const allS = Object.values(sums).reduce((total, seconds) => total + seconds, 0);
      return { kind, id, ...sums, upShare: allS === 0 ? null : sums.upS / allS };
    };
    return [
      ...lines.map(({ id }) => row('line', id)),
      ...structures.map(({ id }) => row('structure', id)),
      ...heads.map(({ id }) => row('head', id)),
    ];
  }

  /** For drawing and listing; figures come from the whole. */
  get spans(): Timeline['lines'] {
    return this.#layout.lines.map(({ id }) => ({ line: id, spans: thinned(this.#spans.get(id) ?? []) }));
  }

  #add(key: string, share: Share, seconds: number): void {
    let sums = this.#sums.get(key);
    if (!sums) {
      if (share === 'rigged') return;
      sums = { upS: 0, shortS: 0, downS: 0, unknownS: 0, fillingS: 0, shutS: 0 };
      this.#sums.set(key, sums);
    }
    // Rigged and dry again after it ran: no water, whatever the reason.
    sums[share === 'rigged' ? 'downS' : share] += seconds;
  }

  #span(line: string, state: LineState, fromMs: number, toMs: number): void {
    const spans = this.#spans.get(line) ?? [];
    this.#spans.set(line, spans);
    const last = spans.at(-1);
    if (last?.state === state && last.toMs === fromMs) spans[spans.length - 1] = { ...last, toMs };
    else spans.push({ fromMs, toMs, state });
  }
}

/** More than a screen or a sheet can show. */
const SPANS_MAX = 800;
type Span = Stretch & { readonly state: LineState };

/** A line whose state wavers has thousands of stretches: they go into equal slices, each under its worst state. */
function thinned(spans: readonly Span[]): Span[] {
  if (spans.length <= SPANS_MAX) return [...spans];
  const fromMs = spans[0]!.fromMs;
  const sliceMs = Math.ceil((spans.at(-1)!.toMs - fromMs) / (SPANS_MAX / 2));
  const slices = new Map<number, Span>();
  for (const span of spans) {
    for (let slice = Math.floor((span.fromMs - fromMs) / sliceMs); fromMs + slice * sliceMs < span.toMs; slice += 1) {
      const known = slices.get(slice);
      if (known && WORST_FIRST.indexOf(known.state) <= WORST_FIRST.indexOf(span.state)) continue;
      slices.set(slice, {
        fromMs: fromMs + slice * sliceMs,
        toMs: Math.min(spans.at(-1)!.toMs, fromMs + (slice + 1) * sliceMs),
        state: span.state,
      });
    }
  }
  const out: Span[] = [];
  for (const span of [...slices.values()].sort((a, b) => a.fromMs - b.fromMs)) {
    const last = out.at(-1);
    if (last?.state === span.state && last.toMs === span.fromMs) out[out.length - 1] = { ...last, toMs: span.toMs };
    else out.push(span);
  }
  return out;
}
