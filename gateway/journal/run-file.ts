/**
 * Opens the file of one run: creates it, brings its tables up to date, writes down what the run is.
 *
 * In: path and facts. Out: an open database that commits durably (WAL, synchronous=FULL: an answer 'written' survives a
 * power cut, as far as the disk tells the truth). Opening twice is harmless, which is how a failed disk is tried again.
 */
import Database from 'better-sqlite3';
import { dirname } from 'node:path';
import type { Layout } from '../../config/layout/layout.ts';
import { MIGRATIONS } from './schema.ts';
import { runsOf } from './uptime.ts';

export interface RunFacts {
  readonly layout: Layout;
  readonly layoutText: string;
  readonly startedMs: number;
  readonly startedWallMs: number;
  readonly simulated: boolean;
  readonly software: string;
}

export function openRunFile(path: string, run: string, facts: RunFacts): Database.Database {
  const database = new Database(path, { timeout: 1_000 });
  try {
    // Of a new file only, and before anything is in it: what is thinned one day goes back to the disk.
    database.pragma('auto_vacuum = INCREMENTAL');
    database.pragma('journal_mode = WAL');
    database.pragma('synchronous = FULL');
    database.pragma('journal_size_limit = 16777216');
    migrate(database);
    database.transaction(() => describe(database, dirname(path), run, facts)).immediate();
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

function describe(database: Database.Database, folder: string, run: string, facts: RunFacts): void {
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
  beginUptime(database, folder, run, layout.site);
  const channel = database.prepare('insert or ignore into channel values (?, ?, ?)');
  layout.sensors.forEach((sensor, number) => channel.run(number, sensor.id, sensor.quantity));
}

/** From the furthest of the other runs on, and a little further, so that no two are the same age. */
function beginUptime(database: Database.Database, folder: string, run: string, site: string): void {
  const others = runsOf(folder, site).filter((other) => other.run !== run);
  const meterMs = Math.max(0, ...others.map(({ endedUpMs }) => endedUpMs)) + 1;
  database
    .prepare(
      'insert into uptime values (1, @meterMs, @meterMs, 0) on conflict do update set ended_ms = ' +
        'max(ended_ms, @meterMs)',
    )
    .run({ meterMs });
}
