/**
 * How old a run is, counted by what no clock can change: the order of the runs of a site, and how long gateways have
 * run since.
 *
 * In: the files of a folder. Out: for each run what the site's hour meter read when it was written last, in ms of
 * uptime. Whatever is begun or gone on with goes on from the furthest reading of all, so the readings give the order
 * too. A run that an older version wrote has none: it comes before all that have one. Limit: the meter is written once
 * a minute, so a run may look some minutes younger than it is, never older.
 */
import Database from 'better-sqlite3';
import { readdirSync, statSync } from 'node:fs';
import { pathOf } from './run-name.ts';

export interface RunAge {
  readonly run: string;
  /** Reading of the hour meter at its end; 0: written by an older version. */
  readonly endedUpMs: number;
  /** Single readings are gone: it cannot be gone on with. */
  readonly thinned: boolean;
  /** By the wall's clock, so only to choose between runs of older versions. */
  readonly changedMs: number;
}

const UPTIME_VERSION = 6;

/** The runs of a site, newest first; files that cannot be read are left out. */
export function runsOf(folder: string, site: string): RunAge[] {
  return readdirSync(folder)
    .filter((name) => name.startsWith(`${site}-`) && name.endsWith('.sqlite'))
    .flatMap((name) => ageOf(folder, name.slice(0, -'.sqlite'.length)) ?? [])
    .sort((one, other) => other.endedUpMs - one.endedUpMs || other.changedMs - one.changedMs);
}

function ageOf(folder: string, run: string): RunAge | null {
  const path = pathOf(folder, run);
  let database: Database.Database | null = null;
  try {
    database = new Database(path, { readonly: true, timeout: 1_000 });
    const hasUptime = Number(database.pragma('user_version', { simple: true })) >= UPTIME_VERSION;
    const row = hasUptime
      ? database
          .prepare<[], { endedUpMs: number; thinned: number }>(
            'select ended_ms as endedUpMs, thinned from uptime where id = 1',
          )
          .get()
      : undefined;
    return { run, endedUpMs: row?.endedUpMs ?? 0, thinned: row?.thinned === 1, changedMs: changedMs(path) };
  } catch {
    return null;
  } finally {
    database?.close();
  }
}

function changedMs(path: string): number {
  return Math.max(...[path, `${path}-wal`].map((file) => statSync(file, { throwIfNoEntry: false })?.mtimeMs ?? 0));
}
