/**
 * Opens the file of one run: creates it, brings its tables up to date, writes down what the run is.
 *
 * In: path and facts. Out: an open database that commits durably (WAL, synchronous=FULL: an answer 'written' survives a
 * power cut, as far as the disk tells the truth). Opening twice is harmless, which is how a failed disk is tried again.
 */
import Database from 'better-sqlite3';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import type { Layout } from '../../config/layout.ts';
import { MIGRATIONS } from './schema.ts';

export interface RunFacts {
  readonly layout: Layout;
  readonly layoutText: string;
  readonly startedMs: number;
  readonly startedWallMs: number;
  readonly simulated: boolean;
  readonly software: string;
}

export function nameRun(folder: string, site: string, wallMs: number): string {
  const stamp = new Date(wallMs).toISOString().replaceAll(/[-:]|\.\d+/g, '');
  const base = `${site}-${stamp}`;
  let name = base;
  for (let next = 2; existsSync(pathOf(folder, name)); next += 1) name = `${base}-${next}`;
  return name;
}

export function pathOf(folder: string, run: string): string {
  return join(folder, `${run}.sqlite`);
}

export function openRunFile(path: string, run: string, facts: RunFacts): Database.Database {
  const database = new Database(path, { timeout: 1_000 });
  try {
    database.pragma('journal_mode = WAL');
    database.pragma('synchronous = FULL');
    database.pragma('journal_size_limit = 16777216');
    migrate(database);
    database.transaction(() => describe(database, run, facts)).immediate();
  } catch (error) {
    database.close();
    throw error;
  }
  return database;
}

export function migrate(database: Database.Database): void {
  const version = Number(database.pragma('user_version', { simple: true }));
  if (version > MIGRATIONS.length)
    throw new Error(`this journal was written by a newer version of the software (${version})`);
  for (let next = version; next < MIGRATIONS.length; next += 1) {
    database
      .transaction(() => {
        database.exec(MIGRATIONS[next] ?? '');
        database.pragma(`user_version = ${next + 1}`);
      })
      .immediate();
  }
}

function describe(database: Database.Database, run: string, facts: RunFacts): void {
  const { layout } = facts;
  database
    .prepare('insert or ignore into run values (1, ?, ?, ?, ?, ?, ?, ?, ?)')
    .run(
      run,
      layout.site,
      facts.startedMs,
      facts.startedWallMs,
      Number(facts.simulated),
      facts.software,
      facts.layoutText,
      layout.fingerprint,
    );
  const channel = database.prepare('insert or ignore into channel values (?, ?, ?)');
  layout.sensors.forEach((sensor, number) => channel.run(number, sensor.id, sensor.quantity));
}
