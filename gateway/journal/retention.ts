/**
 * How long runs that are over keep everything, what is left of them afterwards, and how much room the disk has.
 *
 * In: the folder, the site, the run in progress, the uptime (ms). Out: a bounded piece of work at a time; words when
 * the disk is nearly full. Of a run that ended long enough ago, by uptime (uptime.ts), raw packets and single readings
 * and expectations go; their minutes (lowest, mean, highest) stay. Entries, alarms, pictures and restarts are never
 * dropped. The run in progress is never thinned: it grows until it is over. Limits: what is thinned cannot be driven
 * through the core again; a file of an older version does not shrink.
 */
import Database from 'better-sqlite3';
import { statfsSync } from 'node:fs';
import { claimRun, type RunClaim } from './run-claim.ts';
import { migrate } from './run-file.ts';
import { pathOf } from './run-name.ts';
import { runsOf } from './uptime.ts';

/** Judgement: longer than a deployment usually stands. */
const KEEP_ALL_MS = 14 * 86_400_000;
/** Where the disk is nearly full. */
const KEEP_LEAST_MS = 86_400_000;
/** Judgement: some days of a usual site. */
const NEARLY_FULL_BYTES = 500_000_000;
const ROWS_AT_A_TIME = 2_000;
const SPAN_AT_A_TIME_MS = 3_600_000;
const PAGES_AT_A_TIME = 2_000;
/** Judgement. */
const LOOK_EVERY_MS = 600_000;

export interface Space {
  readonly keepAllMs: number;
  /** Null: there is enough. */
  readonly words: string | null;
}

export function freeBytesOn(folder: string): number {
  const { bavail, bsize } = statfsSync(folder);
  return bavail * bsize;
}

/** `bytesPerHour`: what the run in progress takes; null: not known yet. */
export function spaceOf(freeBytes: number, bytesPerHour: number | null = null): Space {
  if (freeBytes >= NEARLY_FULL_BYTES) return { keepAllMs: KEEP_ALL_MS, words: null };
  const hours = bytesPerHour === null || bytesPerHour <= 0 ? null : freeBytes / bytesPerHour;
  const lasts =
    hours === null
      ? ''
      : `, enough for about ${hours < 48 ? `${Math.floor(hours)} h` : `${Math.floor(hours / 24)} days`}`;
  return {
    keepAllMs: KEEP_LEAST_MS,
    words:
      `The disk is nearly full: ${Math.round(freeBytes / 1e6)} MB left${lasts}. Nothing of this run is ` +
      'deleted; of earlier runs only minutes are kept once the gateway has run for a day since. Move ' +
      'records of earlier runs to another disk to make room.',
  };
}

interface Work {
  readonly run: string;
  readonly database: Database.Database;
  readonly claim: RunClaim;
}

export class Retention {
  readonly #folder: string;
  readonly #site: string;
  #lookedUpMs = 0;
  #due: string[] = [];
  #work: Work | null = null;

  constructor(folder: string, site: string) {
    this.#folder = folder;
    this.#site = site;
  }

  /** A piece of the work. `meterMs`: what the site's hour meter reads now. */
  tend(current: string, meterMs: number, upMs: number, keepAllMs: number): void {
    if (!this.#work && this.#due.length === 0 && upMs - this.#lookedUpMs >= LOOK_EVERY_MS) {
      this.#lookedUpMs = upMs;
      this.#due = runsOf(this.#folder, this.#site)
        .filter(({ run, endedUpMs, thinned }) => run !== current && !thinned && meterMs - endedUpMs >= keepAllMs)
        .map(({ run }) => run);
    }
    const run = this.#work ? null : this.#due.shift();
    if (run !== null && run !== undefined) this.#work = this.#open(run);
    if (this.#work && done(this.#work.database)) this.close();
  }

  close(): void {
    const work = this.#work;
    this.#work = null;
    try {
      work?.database.close();
    } finally {
      work?.claim.release();
    }
  }

  /** Null: another gateway has it, or it cannot be written. */
  #open(run: string): Work | null {
    const claim = claimRun(this.#folder, run);
    if (!claim) return null;
    let database: Database.Database | null = null;
    try {
      database = new Database(pathOf(this.#folder, run), { timeout: 1_000, fileMustExist: true });
      migrate(database);
      database.exec('insert or ignore into uptime values (1, 0, 0, 0)');
      return { run, database, claim };
    } catch {
      database?.close();
      claim.release();
      return null;
    }
  }
}

/** A piece; true when the run is thinned and its file as small as it gets. */
function done(database: Database.Database): boolean {
  if (!thin(database, Infinity)) return false;
  const free = (): number => Number(database.pragma('freelist_count', { simple: true }));
  const before = free();
  database.pragma(`incremental_vacuum(${PAGES_AT_A_TIME})`);
  if (free() > 0 && free() < before) return false;
  database.exec('update uptime set thinned = 1');
  return true;
}

/** A piece of the work on what is older; true when there is none left. */
export function thin(database: Database.Database, fromMs: number): boolean {
  let changes = 0;
  database
    .transaction(() => {
      changes += dropPackets(database, fromMs);
      for (const table of ['reading', 'expectation'] as const) changes += dropRows(database, table, fromMs);
    })
    .immediate();
  return changes === 0;
}

/** Packets are numbered in the order of their receipt: the oldest come first. */
function dropPackets(database: Database.Database, fromMs: number): number {
  const last = database
    .prepare<[number, number], { last: number | null }>(
      'select max(number) as last from (select number, received_ms from packet order by number limit ' +
        '?) where received_ms < ?',
    )
    .get(ROWS_AT_A_TIME, fromMs)?.last;
  return last === null || last === undefined
    ? 0
    : database.prepare('delete from packet where number <= ?').run(last).changes;
}

function dropRows(database: Database.Database, table: 'reading' | 'expectation', fromMs: number): number {
  const oldest = database.prepare<[number], { oldest: number | null }>(
    `select min(at_ms) as oldest from ${table} where channel = ?`,
  );
  const drop = database.prepare<[number, number]>(`delete from ${table} where channel = ? and at_ms < ?`);
  let changes = 0;
  for (const { number } of database.prepare<[], { number: number }>('select number from channel').all()) {
    const from = oldest.get(number)?.oldest ?? null;
    if (from !== null && from < fromMs) changes += drop.run(number, Math.min(fromMs, from + SPAN_AT_A_TIME_MS)).changes;
  }
  return changes;
}
