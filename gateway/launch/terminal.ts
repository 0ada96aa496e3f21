/**
 * What a gateway that runs writes to its terminal or log: it may fail or stand still, and the watch goes on all the
 * same.
 *
 * In: lines, and whether they go to standard output or to standard error. Out: the lines in order, one at a time, off
 * the main thread. A reader that is gone (EPIPE) and a full disk (ENOSPC) cost the line; a reader that stands still (a
 * terminal on hold, a full pipe) lets some lines wait and costs the rest. How many are missing is written once writing
 * works again; no screen says it, because the record holds what matters. `last` writes at once, for a process that
 * ends.
 */
import { write, writeSync } from 'node:fs';

const WAITING_MAX = 200;
const AGAIN_MS = 100;

/** How a start and what it started speak: a line, and a step whose faults are told and lived through. */
export interface Voice {
  readonly say: (words: string) => void;
  readonly goOn: (act: () => void) => void;
}

interface Line {
  readonly text: string;
  /** How many are lost with it: itself, and those that it tells of. */
  readonly standsFor: number;
}

export class Terminal {
  readonly #descriptor: number;
  #waiting: Line[] = [];
  #lost = 0;
  #writing = false;
  #idle: (() => void) | null = null;

  constructor(descriptor: number) {
    this.#descriptor = descriptor;
  }

  say(words: string): void {
    if (this.#waiting.length >= WAITING_MAX) {
      this.#lost += 1;
      return;
    }
    const lost = this.#lost;
    const gap = lost === 0 ? '' : `(${lost} ${lost === 1 ? 'line' : 'lines'} before this could not be written)\n`;
    this.#lost = 0;
    this.#waiting.push({ text: `${gap}${words}\n`, standsFor: lost + 1 });
    this.#next();
  }

  last(words: string): void {
    try {
      writeSync(this.#descriptor, `${words}\n`);
    } catch {
      // Nobody can be told.
    }
  }

  /** True once nothing waits any more; false when something still does after this long. */
  async settled(patienceMs: number): Promise<boolean> {
    if (!this.#writing) return true;
    return new Promise((done) => {
      const patience = setTimeout(() => done(false), patienceMs);
      this.#idle = () => {
        clearTimeout(patience);
        done(true);
      };
    });
  }

  #next(): void {
    if (this.#writing) return;
    const line = this.#waiting.shift();
    if (line === undefined) {
      this.#idle?.();
      return;
    }
    this.#writing = true;
    this.#write(Buffer.from(line.text), (whole) => {
      if (!whole) this.#lost += line.standsFor;
      this.#writing = false;
      this.#next();
    });
  }

  #write(bytes: Buffer, done: (whole: boolean) => void): void {
    write(this.#descriptor, bytes, (error, count) => {
      // A pipe that its other end has set not to wait.
      if (error?.code === 'EAGAIN') setTimeout(() => this.#write(bytes, done), AGAIN_MS);
      else if (error || count >= bytes.length) done(error === null);
      else this.#write(bytes.subarray(count), done);
    });
  }
}
