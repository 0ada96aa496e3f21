/** What people found on site, entered after the event, as it goes over the wire. Times on the run's clock, ms. */
import Type from 'typebox';
import { FINDS, type Find } from '../causes/causes.ts';
import type { Role } from './access.ts';
import { body, BY, MOMENT, oneOf, orNull, type Body } from './body.ts';
import { FIND_WORDS_MAX } from './entry-limits.ts';

/**
 * `nothing-wrong`: looked at and found in order. `walked-all`: all was seen; what is not on the track was not there.
 * `front`: the fire's front arrived.
 */
export type TruthKind = Find | 'nothing-wrong' | 'walked-all' | 'front' | 'note';
const TRUTH_KINDS: readonly TruthKind[] = [...FINDS, 'nothing-wrong', 'walked-all', 'front', 'note'];

/** What people say was really so, as they enter it after the event. Times are on the run's clock. */
export const TRUTH_SCHEMA = body({
  by: BY,
  what: oneOf(TRUTH_KINDS),
  /** Head, hose, gate, line, pump, source, sensor or structure; null: not known, or the whole site. */
  at: orNull(Type.String({ maxLength: 200 })),
  /** When it began or was seen, at best guess. */
  fromMs: MOMENT,
  /** When it was over; null: not within the run, or a moment only. */
  toMs: orNull(MOMENT),
  words: Type.String({ maxLength: FIND_WORDS_MAX }),
  /** The entry that this one puts right; nothing is deleted. */
  replaces: orNull(Type.Integer({ minimum: 1 })),
});
export type TruthTold = Body<typeof TRUTH_SCHEMA>;

export interface TruthEntry extends TruthTold {
  readonly number: number;
  readonly enteredWallMs: number;
  readonly role: Role | null;
  readonly photos: readonly {
    readonly number: number;
    readonly name: string;
    readonly type: string;
    readonly bytes: number;
  }[];
}
