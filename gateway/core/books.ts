/**
 * What the core has counted over a run, written down so that a restart goes on counting where it was left.
 *
 * In: the parts of the core that count: water, alarm load, alarms with who acknowledged them, notes, shocks, the words
 * of the baseline. Out: a text to keep with a picture, and the same parts set to what such a text says. Gates, mode,
 * states and findings are not in it: they follow from entries and readings, and are played again. Limit: a text of
 * another version is not read; then counting begins anew, and a note says so.
 */
import type { ShockPicture } from '../../config/wire/bursts.ts';
import type { Note, Picture } from '../../config/wire/wire.ts';
import type { AlarmBooks, AlarmDesk } from './alarms/alarm-desk.ts';
import type { ShockWatch } from './diagnosis/bursts/shock-watch.ts';
import type { WaterBooks, WaterTally } from './diagnosis/states/water-tally.ts';
import type { BaselineDesk } from './operations/baseline-desk.ts';
import type { Operations } from './operations/operations.ts';

/** To be raised whenever a part of the text changes its meaning. */
const VERSION = 1;
const COUNTED_ANEW =
  'Water totals and alarm load count from here: the gateway was started again, and what it wrote ' +
  'before does not hold them';

export interface CountingParts {
  readonly tally: WaterTally;
  readonly alarms: AlarmDesk;
  readonly operations: Operations;
  readonly shocks: ShockWatch;
  readonly baselines: BaselineDesk;
}

interface Books {
  readonly version: number;
  readonly water: WaterBooks;
  readonly alarms: AlarmBooks;
  readonly notes: readonly Note[];
  readonly shocks: readonly ShockPicture[];
  readonly baseline: Picture['baseline'];
}

export class RunBooks {
  readonly #parts: CountingParts;

  constructor(parts: CountingParts) {
    this.#parts = parts;
  }

  written(): string {
    const { tally, alarms, operations, shocks, baselines } = this.#parts;
    return JSON.stringify({
      version: VERSION,
      water: tally.books,
      alarms: alarms.books,
      notes: operations.notes,
      shocks: shocks.shocks,
      baseline: baselines.taken,
    } satisfies Books);
  }

  /** Null: counts anew. */
  restore(text: string | null, nowMs: number): void {
    const { tally, alarms, operations, shocks, baselines } = this.#parts;
    const books = text === null ? null : (JSON.parse(text) as Books);
    if (books?.version !== VERSION) {
      tally.restore(null);
      alarms.restore(null);
      operations.note(COUNTED_ANEW, null, nowMs);
      return;
    }
    tally.restore(books.water);
    alarms.restore(books.alarms);
    operations.restore(books.notes);
    shocks.restore(books.shocks);
    baselines.restore(books.baseline);
  }
}
