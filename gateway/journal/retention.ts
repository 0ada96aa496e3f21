/**
 * How long a run keeps everything, and what is left of it afterwards.
 *
 * In: the open file of a run, and from when on everything is kept. Out: a bounded piece of the work at a time, so that
 * no commit takes long. Raw packets, single readings and single expectations go, their minutes (lowest, mean, highest)
 * stay; entries, alarms, pictures, restarts and breakages are never dropped. Freed pages are used again: the file stops
 * growing, it does not shrink. Whole runs are never deleted. Limit: what is thinned can no longer be driven through the
 * core again.
 */
import type Database from 'better-sqlite3';
import { statfsSync } from 'node:fs';

/** Judgement: longer than a deployment usually stands. */
const KEEP_ALL_MS = 14 * 86_400_000;
/** Where the disk is nearly full. */
const KEEP_LEAST_MS = 86_400_000;
/** Judgement: some days of a usual site. */
const NEARLY_FULL_BYTES = 500_000_000;
const ROWS_AT_A_TIME = 2_000;
const SPAN_AT_A_TIME_MS = 3_600_000;

export interface Space {
  readonly keepAllMs: number;
  /** Null: there is enough. */
  readonly words: string | null;
}

export function spaceOn(folder: string): Space {
  const { bavail, bsize } = statfsSync(folder);
  return spaceOf(bavail * bsize);
}

export function spaceOf(freeBytes: number): Space {
  if (freeBytes >= NEARLY_FULL_BYTES) return { keepAllMs: KEEP_ALL_MS, words: null };
  return {
    keepAllMs: KEEP_LEAST_MS,
    words: `The disk is nearly full: ${Math.round(freeBytes / 1e6)} MB left. Of what is older than a day only minutes are kept.`,
  };
}

/** A piece of the work; true when there is none left. */
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
      'select max(number) as last from (select number, received_ms from packet order by number limit ?) where received_ms < ?',
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
