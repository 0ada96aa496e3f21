/**
 * The file of a run, opened for reading only, and the queries that were put to it.
 *
 * In: path of a run's file, which a gateway may still write. Out: rows of a query. A query is prepared once and kept.
 * Limit: waits at most a second for a writer, then throws.
 */
import Database from 'better-sqlite3';

type Statement<Row> = Database.Statement<unknown[], Row>;

export class ReadOnlyFile {
  readonly database: Database.Database;
  readonly #statements = new Map<string, Statement<unknown>>();

  constructor(path: string) {
    this.database = new Database(path, { readonly: true, timeout: 1_000 });
  }

  all<Row>(sql: string, ...cells: readonly (number | string)[]): Row[] {
    return this.prepare<Row>(sql).all(...cells);
  }

  one<Row>(sql: string, ...cells: readonly (number | string | Readonly<Record<string, number>>)[]): Row | undefined {
    return this.prepare<Row>(sql).get(...cells);
  }

  prepare<Row>(sql: string): Statement<Row> {
    let statement = this.#statements.get(sql);
    if (!statement) {
      statement = this.database.prepare<unknown[], unknown>(sql);
      this.#statements.set(sql, statement);
    }
    return statement as Statement<Row>;
  }
}
