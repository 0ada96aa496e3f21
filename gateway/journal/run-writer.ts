/**
 * The file of the run that is being written: its name, the claim on it, and the rows that go into it.
 *
 * In: rows. Out: each list of rows in one durable commit, or an error and nothing of them. A file that was deleted, or
 * whose disk was pulled, is opened anew. Limit: a run keeps its name from the moment its file is on disk.
 */
import type Database from 'better-sqlite3';
import { existsSync } from 'node:fs';
import type { EarlierRun } from './earlier-run.ts';
import { claimRun } from './run-claim.ts';
import { openRunFile, type RunFacts } from './run-file.ts';
import { nameRun, pathOf } from './run-name.ts';

const INSERTS = {
  packet: 'insert into packet values (?, ?, ?, ?, ?, ?, ?, ?)',
  reading: 'insert or ignore into reading values (?, ?, ?, ?, ?, ?, ?, ?)',
  expectation: 'insert or ignore into expectation values (?, ?, ?, ?, ?)',
  entry: 'insert into entry values (null, ?, ?, ?, ?, ?, ?, ?)',
  alarm: 'insert into alarm_transition values (null, ?, ?, ?, ?)',
  picture: 'insert or replace into picture values (?, ?)',
  books: 'insert or replace into books values (1, ?, ?)',
  restart: 'insert into restart values (null, ?, ?, ?, ?, ?)',
  breakage: 'insert into breakage values (null, ?, ?, ?, ?)',
  uptime: 'update uptime set ended_ms = max(ended_ms, ?)',
  simulated: 'update run set simulated = ?',
} as const;

type Cell = string | number | null | Uint8Array;

export interface Row {
  readonly kind: keyof typeof INSERTS;
  readonly cells: readonly Cell[];
}

export class RunWriter {
  readonly #folder: string;
  readonly #facts: RunFacts;
  #run: string;
  /** Its file is on disk, so it keeps its name. */
  #begun: boolean;
  #claim: EarlierRun['claim'] | null;
  #database: Database.Database | null = null;
  #statements = new Map<Row['kind'], Database.Statement<[readonly Cell[]]>>();

  constructor(folder: string, facts: RunFacts, earlier: EarlierRun | null) {
    this.#folder = folder;
    this.#facts = facts;
    this.#run = earlier?.run ?? nameRun(folder, facts.layout.site, facts.startedWallMs);
    this.#begun = earlier !== null;
    this.#claim = earlier?.claim ?? null;
  }

  get run(): string {
    return this.#run;
  }

  get path(): string {
    return pathOf(this.#folder, this.#run);
  }

  /** Null while the file is not open. */
  get database(): Database.Database | null {
    return this.#database;
  }

  /** Whether a name is free is known once the disk is there; what is begun keeps its own. */
  open(): Database.Database {
    if (this.#database) return this.#database;
    if (!this.#begun && !this.#claim)
      this.#run = nameRun(this.#folder, this.#facts.layout.site, this.#facts.startedWallMs);
    this.#claim ??= claimRun(this.#folder, this.#run);
    this.#database = openRunFile(this.path, this.#run, this.#facts);
    this.#begun = true;
    return this.#database;
  }

  /** When it returns, the rows are on disk. Throws when they are not. */
  commit(rows: readonly Row[]): void {
    // A file that was deleted or whose disk was pulled takes writes without complaint, into nothing.
    if (!existsSync(this.path)) this.release();
    const database = this.open();
    if (rows.length > 0) database.transaction(() => this.#write(database, rows)).immediate();
  }

  /** Closes the file; the next commit opens it again. */
  release(): void {
    this.#statements = new Map();
    try {
      this.#database?.close();
    } finally {
      this.#database = null;
    }
  }

  /** Others may go on with the run from now on. */
  releaseClaim(): void {
    this.#claim?.release();
    this.#claim = null;
  }

  #write(database: Database.Database, rows: readonly Row[]): void {
    for (const { kind, cells } of rows) {
      let statement = this.#statements.get(kind);
      if (!statement) {
        statement = database.prepare<[readonly Cell[]]>(INSERTS[kind]);
        this.#statements.set(kind, statement);
      }
      statement.run(cells);
    }
  }
}
