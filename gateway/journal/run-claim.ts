/**
 * Who may write the file of a run: a lock beside it, which ends with the process that holds it.
 *
 * In: folder and run. Out: the claim, until it is released; null while another holds it or the disk does not take it.
 */
import Database from 'better-sqlite3';
import { rmSync } from 'node:fs';
import { join } from 'node:path';

/** Null: another process has it, or the disk does not take it. */
export function claimRun(folder: string, run: string): RunClaim | null {
  try {
    return new RunClaim(join(folder, `${run}.lock`));
  } catch {
    return null;
  }
}

export class RunClaim {
  readonly #path: string;
  readonly #lock: Database.Database;

  constructor(path: string) {
    this.#path = path;
    this.#lock = new Database(path, { timeout: 0 });
    try {
      this.#lock.exec('pragma locking_mode = exclusive; begin exclusive');
    } catch (error) {
      this.#lock.close();
      throw error;
    }
  }

  release(): void {
    this.#lock.close();
    rmSync(this.#path, { force: true });
  }
}
