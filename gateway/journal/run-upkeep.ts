/**
 * Looks after the run that is being written: its hour meter, the room on the disk, earlier runs that may be thinned.
 *
 * In: the open file; the uptime of this process (ms), which no clock of a wall can change. Out: readings of the hour
 * meter, once a minute; words when the disk is nearly full or cannot be looked after. Limit: how fast the file grows is
 * known after an hour.
 */
import type Database from 'better-sqlite3';
import { statSync } from 'node:fs';
import { Retention, spaceOf, type Space } from './retention.ts';

const TEND_EVERY_MS = 60_000;
/** Judgement: sooner, how fast the file grows is not known. */
const RATE_FROM_H = 1;

export interface TendedRun {
  readonly run: string;
  readonly path: string;
  readonly database: Database.Database;
}

export class RunUpkeep {
  readonly #folder: string;
  readonly #freeBytes: (folder: string) => number;
  readonly #retention: Retention;
  /**
   * When this was tended first and last, by the uptime; what the hour meter read and how large the file was at first.
   */
  #up: {
    readonly firstMs: number;
    readonly meterMs: number;
    readonly bytes: number;
    tendedMs: number;
  } | null = null;
  #space: Space = { keepAllMs: Infinity, words: null };

  constructor(folder: string, site: string, freeBytes: (folder: string) => number) {
    this.#folder = folder;
    this.#freeBytes = freeBytes;
    this.#retention = new Retention(folder, site);
  }

  /** Null: there is enough room. */
  get words(): string | null {
    return this.#space.words;
  }

  /** To be called often. `note`: takes a reading of the hour meter. */
  tend({ run, path, database }: TendedRun, upMs: number, note: (meterMs: number) => void): void {
    try {
      this.#up ??= {
        firstMs: upMs,
        meterMs: readMeter(database),
        bytes: statSync(path).size,
        tendedMs: -Infinity,
      };
      const { firstMs, bytes, tendedMs } = this.#up;
      const meterMs = Math.round(this.#up.meterMs + upMs - firstMs);
      if (upMs - tendedMs >= TEND_EVERY_MS) {
        this.#up.tendedMs = upMs;
        note(meterMs);
        const hours = (upMs - firstMs) / 3_600_000;
        const perHour = hours < RATE_FROM_H ? null : (statSync(path).size - bytes) / hours;
        this.#space = spaceOf(this.#freeBytes(this.#folder), perHour);
      }
      this.#retention.tend(run, meterMs, upMs, this.#space.keepAllMs);
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      this.#space = { keepAllMs: Infinity, words: `The room on the disk could not be looked after: ${why}` };
    }
  }

  close(): void {
    this.#retention.close();
  }
}

/** The hour meter as this run has it. */
function readMeter(database: Database.Database): number {
  return database.prepare<[], { meterMs: number }>('select ended_ms as meterMs from uptime').get()!.meterMs;
}
