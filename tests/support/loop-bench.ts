/**
 * A run loop on a folder of its own, with a clock that the test moves and a core that writes down what it is told.
 *
 *   const bench = loopBench();
 *   const site = bench.loop(); bench.send(site, [{ n: 'discharge', u: 'Pa', v: 5 }]); bench.wallMs += 1_000;
 */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach } from 'vitest';
import type { Picture } from '../../config/wire/wire.ts';
import type { Watch } from '../../gateway/core/watch.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import type { RunParts } from '../../gateway/site/run.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { blankPicture } from './blank-picture.ts';
import { demoSite } from './demo-site.ts';

export const START = 1_790_000_000_000;
const { layout, text } = demoSite();

/** A new one for each test of the file. */
export function loopBench(): LoopBench {
  const bench = new LoopBench();
  beforeEach(() => bench.begin());
  afterEach(() => rmSync(bench.folder, { recursive: true, force: true }));
  return bench;
}

export class LoopBench {
  readonly layout = layout;
  folder = '';
  wallMs = START;
  shown: Picture[] = [];
  restarts = 0;
  calls: string[] = [];

  begin(): void {
    this.folder = mkdtempSync(join(tmpdir(), 'wetdown-loop-'));
    this.wallMs = START;
    this.shown = [];
    this.restarts = 0;
    this.calls = [];
  }

  /** Writes down what it is told, in order; throws when it is told to advance to `breaksAtMs`. */
  notingWatch(simulated: boolean, breaksAtMs = Infinity): Watch {
    return {
      take: (reading) => void this.calls.push(`take ${reading.channel} ${reading.value}`),
      silence: (channel) => void this.calls.push(`silence ${channel}`),
      books: () => '',
      restore: () => undefined,
      enter: (entry) => {
        this.calls.push(`enter ${entry.kind}`);
        return entry.kind === 'acknowledge' ? 'There is no such alarm.' : null;
      },
      advance: (nowMs) => {
        this.calls.push(`advance ${nowMs - START}`);
        if (nowMs >= breaksAtMs) throw new Error('not finite');
        return blankPicture(Math.floor(nowMs / 1_000) * 1_000, { simulated });
      },
    };
  }

  loop(changes: Partial<RunParts> = {}): RunLoop {
    return new RunLoop({
      layout,
      layoutText: text,
      software: 'test',
      bundledSimulator: false,
      broker: 'mqtt://127.0.0.1:1883',
      wallMs: () => this.wallMs,
      makeWatch: (_layout, { simulated }) => this.notingWatch(simulated),
      openJournal: (facts, patient) => new Journal(this.folder, facts, patient),
      show: (picture) => void this.shown.push(picture),
      restarted: () => void (this.restarts += 1),
      ...changes,
    });
  }

  send(site: RunLoop, payload: unknown, leaf = 'pump-box/senml'): void {
    site.packet({
      topic: `wetdown/larch-cove/${leaf}`,
      payload: Buffer.from(typeof payload === 'string' ? payload : JSON.stringify(payload)),
      retained: false,
    });
  }

  rows(site: RunLoop, query: string): unknown[] {
    const database = new Database(join(this.folder, `${site.run.name}.sqlite`), { readonly: true });
    try {
      return database.prepare(query).all();
    } finally {
      database.close();
    }
  }
}
