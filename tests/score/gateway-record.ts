/**
 * The record that a gateway keeps and starts again from: packets through the intake into the journal, and the core
 * rebuilt from it, with the gateway's own code (journal, intake, rebuild).
 *
 * In: samples and entries by the second. Out: the readings that the core is given; after a restart, a core that has
 * caught up. The file lies in the temporary folder until close().
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Layout } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import { Intake } from '../../gateway/ingest/intake.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { Rebuild } from '../../gateway/site/rebuild.ts';
import type { Reading } from '../../gateway/core/telemetry/reading.ts';
import { createWatch, type Watch } from '../../gateway/core/watch.ts';
import type { Sample } from '../../simulator/sensors.ts';
import { packOf, topics } from '../../simulator/wire.ts';

const FLUSH_MS = 300_000;

export class GatewayRecord {
  readonly #layout: Layout;
  readonly #folder = mkdtempSync(join(tmpdir(), 'wetdown-score-'));
  #intake: Intake;
  #journal: Journal;
  #flushedMs: number;

  constructor(layout: Layout, startMs: number) {
    this.#layout = layout;
    this.#intake = new Intake(layout);
    this.#journal = this.#open(startMs);
    this.#flushedMs = startMs;
  }

  /** A simulated run is never gone on with, so the file does not say that it is one; it is gone with this score. */
  #open(startedMs: number): Journal {
    return Journal.open(this.#folder, {
      layout: this.#layout,
      layoutText: '',
      software: 'score',
      simulated: false,
      startedMs,
      startedWallMs: startedMs,
    });
  }

  take(samples: readonly Sample[], receivedMs: number): Reading[] {
    const out: Reading[] = [];
    for (const device of new Set(samples.map(({ sensor }) => sensor.device))) {
      const payload = Buffer.from(
        packOf(
          this.#layout.site,
          device,
          samples.filter(({ sensor }) => sensor.device === device),
        ),
      );
      const packet = { topic: topics.pack(this.#layout.site, device), payload, retained: false, receivedMs };
      const taken = this.#intake.take(packet, 1);
      this.#journal.packet({ ...packet, receivedWallMs: receivedMs, verdict: taken.verdict });
      for (const { live, ...reading } of taken.readings) if (live) out.push(reading);
    }
    if (receivedMs - this.#flushedMs >= FLUSH_MS) {
      this.#journal.flush();
      this.#flushedMs = receivedMs;
    }
    return out;
  }

  entered(entry: Entry, atMs: number, refusal: string | null): void {
    this.#journal.entry(entry, atMs, atMs, refusal);
  }

  /** The gateway is stopped where its record ends, and started at `nowMs`. */
  restart(nowMs: number): Watch {
    this.#journal.close();
    this.#journal = this.#open(nowMs);
    const { earlier } = this.#journal;
    if (!earlier) throw new Error('The record that was left could not be gone on with.');
    this.#journal.flush();
    this.#intake = new Intake(this.#layout);
    const watch = createWatch(this.#layout, { simulated: true });
    const rebuild = new Rebuild(this.#layout, watch, this.#journal.history(), { ...earlier, resumedMs: nowMs });
    rebuild.work(() => false);
    rebuild.close();
    return watch;
  }

  close(): void {
    this.#journal.close();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
