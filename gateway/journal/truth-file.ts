/**
 * What the crew says was really so, in a file of its own beside the run's record, which stays as it was.
 *
 * In: entries and photos, by hand, after the event. Out: entries in order, those that were put right left out. Nothing
 * is ever deleted: a correction is a new entry that names the old one. The file is made with the first entry.
 */
import Database from 'better-sqlite3';
import { existsSync } from 'node:fs';
import type { TruthEntry, TruthTold } from '../../config/wire/truth.ts';
import type { Role } from '../../config/wire/access.ts';

const MIGRATIONS = [
  `
  create table truth (
    number integer primary key, entered_wall_ms integer not null, role text, by text not null,
    what text not null, at text,
    from_ms integer not null, to_ms integer, words text not null, replaces integer references truth (number)
  ) strict;
  create table photo (
    number integer primary key, truth integer not null references truth (number),
    name text not null, type text not null, bytes blob not null
  ) strict;
`,
];

const PHOTO_BYTES_MAX = 5_000_000;
/** Judgement: a report nobody can read through helps nobody, and the side file must stay copyable. */
const PHOTOS_MAX = 100;
const ENTRIES_MAX = 2_000;

export type Written = { readonly ok: true; readonly number: number } | { readonly ok: false; readonly why: string };

interface Row {
  readonly number: number;
  readonly entered_wall_ms: number;
  readonly role: Role | null;
  readonly by: string;
  readonly what: TruthEntry['what'];
  readonly at: string | null;
  readonly from_ms: number;
  readonly to_ms: number | null;
  readonly words: string;
  readonly replaces: number | null;
}

export function truthPath(runPath: string): string {
  return runPath.replace(/(\.sqlite)?$/, '.found.sqlite');
}

export class TruthFile {
  readonly path: string;
  #database: Database.Database | null = null;

  constructor(runPath: string) {
    this.path = truthPath(runPath);
  }

  /** Those that stand, by the time they are about. */
  entries(): TruthEntry[] {
    const database = this.#open(false);
    if (!database) return [];
    const rows = database
      .prepare<[], Row>(
        'select * from truth where number not in (select replaces from truth where replaces is not ' +
          'null) order by from_ms, number',
      )
      .all();
    const photos = database
      .prepare<[], { number: number; truth: number; name: string; type: string; bytes: number }>(
        'select number, truth, name, type, length(bytes) as bytes from photo order by number',
      )
      .all();
    return rows.map((row) => ({
      number: row.number,
      enteredWallMs: row.entered_wall_ms,
      role: row.role,
      by: row.by,
      what: row.what,
      at: row.at,
      fromMs: row.from_ms,
      toMs: row.to_ms,
      words: row.words,
      replaces: row.replaces,
      photos: photos
        .filter(({ truth }) => truth === row.number || this.#replacedBy(truth, row.number, database))
        .map(({ number, name, type, bytes }) => ({ number, name, type, bytes })),
    }));
  }

  tell(told: TruthTold, role: Role | null, wallMs: number): Written {
    const database = this.#open(true)!;
    const count = database.prepare<[], { n: number }>('select count(*) as n from truth').get()?.n ?? 0;
    if (count >= ENTRIES_MAX) return { ok: false, why: `The track is full: ${ENTRIES_MAX} entries.` };
    if (told.replaces !== null && !database.prepare('select 1 from truth where number = ?').get(told.replaces))
      return { ok: false, why: `There is no entry ${told.replaces} to put right.` };
    if (told.replaces !== null && database.prepare('select 1 from truth where replaces = ?').get(told.replaces))
      return { ok: false, why: `Entry ${told.replaces} has been put right already: correct the newer one.` };
    const result = database
      .prepare('insert into truth values (null, ?, ?, ?, ?, ?, ?, ?, ?, ?)')
      .run(
        wallMs,
        role,
        told.by,
        told.what,
        told.at,
        Math.round(told.fromMs),
        told.toMs === null ? null : Math.round(told.toMs),
        told.words,
        told.replaces,
      );
    return { ok: true, number: Number(result.lastInsertRowid) };
  }

  addPhoto(entry: number, name: string, bytes: Buffer): Written {
    const type = photoType(bytes);
    if (type === null) return { ok: false, why: 'This is no photo that can be kept: JPEG, PNG or WebP.' };
    if (bytes.length > PHOTO_BYTES_MAX)
      return {
        ok: false,
        why:
          `The photo has ${Math.ceil(bytes.length / 1e6)} MB; ${PHOTO_BYTES_MAX / 1e6} MB is the most. ` +
          'Send a smaller copy.',
      };
    const database = this.#open(true)!;
    if (!database.prepare('select 1 from truth where number = ?').get(entry))
      return { ok: false, why: `There is no entry ${entry}.` };
    const count = database.prepare<[], { n: number }>('select count(*) as n from photo').get()?.n ?? 0;
    if (count >= PHOTOS_MAX) return { ok: false, why: `This record has ${PHOTOS_MAX} photos, the most there can be.` };
    const result = database.prepare('insert into photo values (null, ?, ?, ?, ?)').run(entry, name, type, bytes);
    return { ok: true, number: Number(result.lastInsertRowid) };
  }

  photo(number: number): { readonly name: string; readonly type: string; readonly bytes: Buffer } | null {
    return (
      this.#open(false)
        ?.prepare<[number], { name: string; type: string; bytes: Buffer }>(
          'select name, type, bytes from photo where number = ?',
        )
        .get(number) ?? null
    );
  }

  close(): void {
    this.#database?.close();
    this.#database = null;
  }

  /** Photos stay with what they were taken of when the words are put right. */
  #replacedBy(old: number, now: number, database: Database.Database): boolean {
    const next = database
      .prepare<[number], { number: number }>('select number from truth where replaces = ?')
      .get(old)?.number;
    return next !== undefined && (next === now || this.#replacedBy(next, now, database));
  }

  #open(make: boolean): Database.Database | null {
    if (this.#database) return this.#database;
    if (!make && !existsSync(this.path)) return null;
    const database = new Database(this.path, { timeout: 1_000 });
    database.pragma('journal_mode = WAL');
    database.pragma('synchronous = FULL');
    const version = Number(database.pragma('user_version', { simple: true }));
    for (let next = version; next < MIGRATIONS.length; next += 1) {
      database
        .transaction(() => {
          database.exec(MIGRATIONS[next] ?? '');
          database.pragma(`user_version = ${next + 1}`);
        })
        .immediate();
    }
    this.#database = database;
    return database;
  }
}

/** By its first bytes, whatever its name says. */
function photoType(bytes: Buffer): string | null {
  if (bytes.subarray(0, 3).equals(Buffer.from([0xff, 0xd8, 0xff]))) return 'image/jpeg';
  if (bytes.subarray(0, 8).equals(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]))) return 'image/png';
  return bytes.subarray(0, 4).toString('latin1') === 'RIFF' && bytes.subarray(8, 12).toString('latin1') === 'WEBP'
    ? 'image/webp'
    : null;
}
