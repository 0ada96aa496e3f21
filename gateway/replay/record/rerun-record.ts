/**
 * A re-run under today's rules, kept in a record of its own in the temporary folder, so that it can be shown like the
 * first.
 *
 * In: the run's record, its layout, a maker of watches. Out: how far it is (0..1), and when it is done its pictures,
 * bands and alarms; or why it could not be done. The run's own record is not touched. Limit: readings shown beside it
 * are those of the record: packets are decoded anew for the rules, not for the charts.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Layout } from '../../../config/layout/layout.ts';
import { Journal } from '../../journal/journal.ts';
import { openRun, type RunReader } from '../../journal/run-reader.ts';
import { rerun, type RerunWatch } from '../rerun.ts';
import { runInSlices } from './slices.ts';

export type RerunState =
  | { readonly name: 'working'; readonly share: number }
  | { readonly name: 'done' }
  | { readonly name: 'failed'; readonly why: string };

export interface RerunParts {
  readonly layout: Layout;
  readonly software: string;
  readonly makeWatch: (layout: Layout, options: { readonly simulated: boolean }) => RerunWatch;
}

/** Short enough that a replay goes on at ten pictures a second. */
const SLICE_MS = 40;
const FLUSH_FRAMES = 600;

export class RerunRecord {
  state: RerunState = { name: 'working', share: 0 };
  readonly #record: RunReader;
  readonly #parts: RerunParts;
  readonly #hindsight: boolean;
  readonly #folder = mkdtempSync(join(tmpdir(), 'wetdown-rerun-'));
  readonly #stop = new AbortController();
  #reader: RunReader | null = null;

  /** `hindsight`: with readings that came late in their place. */
  constructor(record: RunReader, parts: RerunParts, hindsight: boolean) {
    this.#record = record;
    this.#parts = parts;
    this.#hindsight = hindsight;
  }

  /** Null until it is done. */
  get reader(): RunReader | null {
    return this.#reader;
  }

  /** Resolves when it is done, has failed or was stopped; never throws. */
  async work(reached: () => void): Promise<void> {
    const { header } = this.#record;
    const { layout, software, makeWatch } = this.#parts;
    const awakeMs = this.#record.pictureTimes();
    const simulated = this.#record.pictureAt(awakeMs[0] ?? 0)?.simulated ?? header.simulated;
    const endMs = this.#record.endMs;
    let journal: Journal | null = null;
    try {
      const written = new Journal(this.#folder, {
        layout,
        layoutText: header.layoutText,
        software,
        simulated: header.simulated,
        startedMs: header.startedMs,
        startedWallMs: header.startedWallMs,
      });
      journal = written;
      let frames = 0;
      const steps = rerun(
        {
          layout,
          startedMs: header.startedMs,
          endMs,
          events: this.#record.events(),
          awakeMs,
          ...(this.#hindsight ? { late: this.#record.channels.lateReadings() } : {}),
        },
        makeWatch(layout, { simulated }),
        (picture) => {
          written.picture(picture);
          frames += 1;
          if (frames % FLUSH_FRAMES === 0) written.flush();
        },
      );
      const finished = await runInSlices(steps, {
        sliceMs: SLICE_MS,
        stop: this.#stop.signal,
        reached: (atMs) => {
          this.state = { name: 'working', share: (atMs - header.startedMs) / Math.max(1, endMs - header.startedMs) };
          reached();
        },
      });
      written.close();
      this.#finish(finished, written);
    } catch (error) {
      journal?.close();
      this.state = {
        name: 'failed',
        why: `Today's rules broke on this record: ${error instanceof Error ? error.message : String(error)}.`,
      };
    }
    reached();
  }

  #finish(finished: boolean, written: Journal): void {
    if (written.state.why !== null) {
      this.state = {
        name: 'failed',
        why: `The temporary folder does not take it (${written.state.why}): make room there, then run it again.`,
      };
      return;
    }
    const opened = finished ? openRun(written.path) : null;
    if (opened?.ok) {
      this.#reader = opened.reader;
      this.state = { name: 'done' };
    } else this.state = { name: 'failed', why: opened ? opened.why : 'It was stopped before its end.' };
  }

  stop(): void {
    this.#stop.abort();
  }

  close(): void {
    this.stop();
    this.#reader?.close();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
