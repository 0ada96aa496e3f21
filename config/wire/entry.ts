/**
 * What a person tells the gateway: every kind of entry, once. The types, the check at `POST /api/entries` and the kinds
 * that the core goes by are made from this list.
 *
 * In: JSON bodies. Out: `Entry`. Whether a head, a gate or an alarm exists is the core's to say, not the schema's. A
 * new kind: a row here, and the compiler names the core's switch that lacks it.
 */
import Type, { type TObject, type TProperties, type TLiteral, type TString } from 'typebox';
import { body, BY, ID, oneOf, taggedBody, words, type Body } from './body.ts';
import { SIGHTS } from '../causes/causes.ts';
import { MODES } from '../modes.ts';
import { NOTE_MAX, WHY_MAX } from './entry-limits.ts';

/** A day: as long as anything may last that ends by itself. */
const MINUTES = Type.Number({ minimum: 0, maximum: 1_440 });

/** `by` is the initials of who enters it. */
function entry<const Kind extends string, Members extends TProperties>(
  kind: Kind,
  members: Members,
): TObject<{ kind: TLiteral<Kind>; by: TString } & Members> {
  return body({ kind: Type.Literal(kind), by: BY, ...members });
}

/** As they come in. */
export const ENTRY_SCHEMA = taggedBody('kind', [
  /** The lay is walked and runs as it should. */
  entry('baseline', { headsSeenTurning: Type.Array(ID, { maxItems: 2_000, uniqueItems: true }) }),
  entry('acknowledge', { alarm: ID }),
  /** Takes an alarm off the list for some minutes; it comes back by itself. */
  entry('shelve', { alarm: ID, why: words(WHY_MAX), minutes: MINUTES }),
  entry('unshelve', { alarm: ID }),
  /** What is going on, for some minutes; null ends it. */
  entry('mode', { mode: oneOf([...MODES, null]), minutes: MINUTES }),
  /** 0 shut .. 1 open. */
  entry('gate', { gate: ID, opening: Type.Number({ minimum: 0, maximum: 1 }) }),
  /** Somebody looked at a head, hose or gate: what was found there. A measurement, with its own error rate. */
  entry('looked', { at: ID, found: oneOf(SIGHTS) }),
  /** From now on this record of this device measures at that sensor's place. */
  entry('assign', { device: ID, record: ID, sensor: ID }),
  /** The gauge is open to the air now: what it reads is its error. */
  entry('tare', { sensor: ID }),
  entry('note', { words: words(NOTE_MAX) }),
]);

/** What the gateway fills in before it writes an entry down, so that a re-run does the same. */
interface FilledIn {
  /** What the gauge read in open air, Pa. */
  readonly tare: { readonly offsetPa?: number };
}

type Told = Body<typeof ENTRY_SCHEMA>;
type Written<One extends Told> = One extends { readonly kind: infer Kind }
  ? Kind extends keyof FilledIn
    ? One & FilledIn[Kind]
    : One
  : never;
export type Entry = Written<Told>;

/**
 * Answer of `POST /api/entries` to an entry that was taken: 200 once it is on disk, 202 while it is in memory only and
 * would be lost with the gateway.
 */
export interface EntryAnswer {
  readonly ok: true;
  /** What is not so yet; left out: nothing. */
  readonly words?: string;
  /** Left out: it is on disk. */
  readonly waits?: EntryWait;
}

/** The number of an entry in the journal of a session: on disk when `feed.journal.entries` says so of that session. */
export interface EntryWait {
  readonly session: string;
  readonly number: number;
}
