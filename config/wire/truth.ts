/** What people found on site, entered after the event, as it goes over the wire. Times on the run's clock, ms. */
import type { Find } from '../causes/causes.ts';
import type { Role } from './wire.ts';

/**
 * `nothing-wrong`: looked at and found in order. `walked-all`: all was seen; what is not on the track was not there.
 * `front`: the fire's front arrived.
 */
export type TruthKind = Find | 'nothing-wrong' | 'walked-all' | 'front' | 'note';

/** What people say was really so, as they enter it after the event. Times are on the run's clock. */
export interface TruthTold {
  readonly by: string;
  readonly what: TruthKind;
  /** Head, hose, gate, line, pump, source, sensor or structure; null: not known, or the whole site. */
  readonly at: string | null;
  /** When it began or was seen, at best guess. */
  readonly fromMs: number;
  /** When it was over; null: not within the run, or a moment only. */
  readonly toMs: number | null;
  readonly words: string;
  /** The entry that this one puts right; nothing is deleted. */
  readonly replaces: number | null;
}

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
