/**
 * Where a run is looked back on: its figures, and what the crew found, which people enter here.
 *
 * In: which record is meant now (of a gateway that watches it changes with the run). Out: the look back, kept until the
 * record or the track has grown and some seconds have passed; the track's entries and photos. Entries about what the
 * layout does not have, or about a time far from the run, are refused in words.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import type { Review } from '../../../config/wire/review.ts';
import type { TruthEntry, TruthTold } from '../../../config/wire/truth.ts';
import type { Role } from '../../../config/wire/access.ts';
import { openRun, type RunReader } from '../../journal/run-reader.ts';
import { TruthFile, type Written } from '../../journal/truth-file.ts';
import { lookBack, type LookBack } from '../look-back.ts';

export interface RecordAtHand {
  readonly path: string;
  readonly layout: Layout;
}

/** A gateway that watches must not reckon all the time. */
const KEPT_MS = 20_000;
const SLICE_MS = 25;
const AROUND_RUN_MS = 7 * 86_400_000;

interface Open extends RecordAtHand {
  readonly reader: RunReader;
  readonly truth: TruthFile;
}

export class ReviewDesk {
  readonly #record: () => RecordAtHand;
  readonly #replay: boolean;
  #open: Open | null = null;
  #kept: { readonly key: string; readonly madeMs: number; readonly review: Review } | null = null;
  #making: { readonly key: string; readonly review: Promise<Review> } | null = null;

  constructor(record: () => RecordAtHand, replay: boolean) {
    this.#record = record;
    this.#replay = replay;
  }

  /** The record and its track; throws with a sentence where it cannot be read. */
  get at(): Open {
    const { path, layout } = this.#record();
    if (this.#open?.path === path) return this.#open;
    this.close();
    const opened = openRun(path);
    if (!opened.ok) throw new Error(opened.why);
    this.#open = { path, layout, reader: opened.reader, truth: new TruthFile(path) };
    return this.#open;
  }

  async review(wallMs: () => number): Promise<Review> {
    const { reader, truth } = this.at;
    const told = truth.entries();
    const key = JSON.stringify([reader.path, told.map(({ number, photos }) => [number, photos.length])]);
    const kept =
      this.#kept?.key === key && (this.#replay || wallMs() - this.#kept.madeMs < KEPT_MS) ? this.#kept.review : null;
    if (kept) return kept;
    // One at a time; a find that was entered meanwhile needs another.
    while (this.#making !== null && this.#making.key !== key) await this.#making.review.catch(() => undefined);
    this.#making ??= {
      key,
      review: this.#make(told).finally(() => {
        this.#making = null;
      }),
    };
    const review = await this.#making.review;
    this.#kept = { key, madeMs: wallMs(), review };
    return review;
  }

  async #make(told: readonly TruthEntry[]): Promise<Review> {
    const { reader, layout } = this.at;
    const steps = lookBack(reader, layout, told);
    let result: LookBack | null = null;
    while (result === null) {
      const untilMs = performance.now() + SLICE_MS;
      while (result === null && performance.now() < untilMs) {
        const step = steps.next();
        if (step.done) result = step.value;
      }
      await new Promise((done) => {
        setImmediate(done);
      });
    }
    const { header } = reader;
    return {
      run: header.run,
      simulated: reader.simulated,
      replay: this.#replay,
      software: header.software,
      layoutRevision: layout.revision,
      layoutFingerprint: header.fingerprint,
      ...result,
    };
  }

  tell(told: TruthTold, role: Role | null, wallMs: number): Written {
    const { layout, reader, truth } = this.at;
    const parts = [
      layout.sources,
      layout.pumps,
      layout.structures,
      layout.lines,
      layout.heads,
      layout.gates,
      layout.sensors,
      layout.hoses,
    ];
    if (told.at !== null && !parts.some((list) => list.some(({ id }) => id === told.at)))
      return { ok: false, why: `There is nothing called '${told.at}' in the layout of this run.` };
    if (told.fromMs < reader.header.startedMs - AROUND_RUN_MS || told.fromMs > reader.endMs + AROUND_RUN_MS)
      return { ok: false, why: 'That time is more than a week from this run.' };
    if (told.toMs !== null && told.toMs < told.fromMs) return { ok: false, why: 'It cannot be over before it began.' };
    return truth.tell(told, role, wallMs);
  }

  close(): void {
    this.#open?.reader.close();
    this.#open?.truth.close();
    this.#open = null;
  }
}
