/**
 * The pure core: readings, entries and time come in, pictures go out. No clock, file, socket or randomness inside.
 *
 * The order of the stages is the code of #frame. One frame a whole second, so the same inputs in the same order give
 * the same pictures, live or replayed.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { AlarmDesk } from './alarms/alarm-desk.ts';
import { RunBooks } from './books.ts';
import { RhythmWatch } from './diagnosis/bursts/rhythm-watch.ts';
import { ShockWatch } from './diagnosis/bursts/shock-watch.ts';
import { LayBoundary } from './diagnosis/lay-boundary.ts';
import { NetworkMonitor } from './diagnosis/network-monitor.ts';
import { SitePumps } from './diagnosis/pump/site-pumps.ts';
import { SiteFindings } from './diagnosis/site-findings.ts';
import { SiteSupplies } from './diagnosis/site-supplies.ts';
import { BaselineDesk } from './operations/baseline-desk.ts';
import { EntryDesk } from './operations/entry-desk.ts';
import { Operations } from './operations/operations.ts';
import { RunningLay } from './running-lay.ts';
import { channelPictures, Snapshot } from './snapshot.ts';
import { channelsOf, type Channel } from './telemetry/channel.ts';
import { Frames } from './telemetry/frames.ts';
import type { Reading } from './telemetry/reading.ts';

export interface Watch {
  /** Files a reading. Order of calls is the order of arrival. */
  take(reading: Reading): void;
  /** The channel's device has said that it has no value any more: it is unknown until the next reading. */
  silence(channel: string): void;
  /** A person's entry at `atMs`. Returns an error sentence, or null when it was taken. */
  enter(entry: Entry, atMs: number): string | null;
  /**
   * Moves time on to `nowMs`, frame by whole second; returns the newest picture, or null if no second passed.
   * `wasAway`: the gateway was down since the last frame: frames between are not computed, and the gap counts for no
   * sensor's silence.
   */
  advance(nowMs: number, wasAway?: boolean): Picture | null;
  /** The running totals as text; `restore` goes on from them, null starts from zero. */
  books(): string;
  restore(books: string | null, nowMs: number): void;
}

export function createWatch(layout: Layout, options: { readonly simulated: boolean }): Watch {
  return new SiteWatch(layout, options.simulated);
}

class SiteWatch implements Watch {
  readonly #frames = new Frames();
  readonly #channels: ReadonlyMap<string, Channel>;
  readonly #operations: Operations;
  readonly #pumps: SitePumps;
  readonly #shocks: ShockWatch;
  readonly #lay: RunningLay;
  readonly #supplies: SiteSupplies;
  readonly #findings: SiteFindings;
  readonly #alarms: AlarmDesk;
  readonly #snapshot: Snapshot;
  readonly #entries: EntryDesk;
  readonly #books: RunBooks;

  constructor(layout: Layout, simulated: boolean) {
    const channels = channelsOf(layout);
    const operations = new Operations(layout);
    const monitor = new NetworkMonitor(layout);
    const pumps = new SitePumps(layout, monitor.expectation.pumpSides, channels);
    const supplies = new SiteSupplies(layout, channels);
    const boundary = new LayBoundary(pumps, supplies, operations.gates);
    const rhythms = new RhythmWatch(layout, channels);
    const shocks = new ShockWatch(layout, channels);
    const baselines = new BaselineDesk({ channels, operations, monitor, pumps, boundary, rhythms });
    const lay = new RunningLay({ channels, operations, monitor, pumps, boundary, baselines });
    const alarms = new AlarmDesk(layout, simulated, operations);
    const found = { layout, channels, monitor, pumps, supplies, rhythms, shocks };
    this.#channels = channels;
    this.#operations = operations;
    this.#pumps = pumps;
    this.#shocks = shocks;
    this.#lay = lay;
    this.#supplies = supplies;
    this.#findings = new SiteFindings({ ...found, shutByOrder: (line) => operations.shutByOrder(line) });
    this.#alarms = alarms;
    const shown = { operations, pumps, supplies, boundary, lay, rhythms, shocks, baselines, alarms };
    this.#snapshot = new Snapshot({ layout, simulated, ...shown });
    this.#entries = new EntryDesk({ layout, channels, operations, monitor, baselines, alarms });
    this.#books = new RunBooks({ tally: this.#snapshot.tally, alarms, operations, shocks, baselines });
  }

  take(reading: Reading): void {
    this.#channels.get(reading.channel)?.take(reading);
  }

  silence(channel: string): void {
    this.#channels.get(channel)?.silence();
  }

  enter(entry: Entry, atMs: number): string | null {
    return this.#entries.enter(entry, atMs);
  }

  advance(nowMs: number, wasAway = false): Picture | null {
    if (this.#frames.begin(nowMs)) this.#lay.begin(this.#frames.listening.startedMs);
    let picture: Picture | null = null;
    for (const frameMs of this.#frames.due(nowMs, wasAway)) picture = this.#frame(frameMs);
    return picture;
  }

  books(): string {
    return this.#books.written();
  }

  restore(books: string | null, nowMs: number): void {
    this.#books.restore(books, nowMs);
  }

  #frame(nowMs: number): Picture {
    this.#operations.expire(nowMs);
    const mode = this.#operations.mode?.name ?? null;
    const changes = this.#pumps.observe(nowMs, mode, (pump) => this.#lay.outletOf(pump, nowMs));
    for (const words of changes) this.#operations.note(words, null, nowMs);
    this.#shocks.observe(nowMs, this.#operations.notes, this.#operations.looks, this.#operations.seenTurningMs);
    this.#lay.observe(nowMs, this.#shocks.hurt);
    this.#supplies.observe(nowMs, this.#pumps, this.#lay.monitor, this.#snapshot.works);
    const channels = channelPictures(this.#channels, this.#lay.monitor, nowMs);
    const findings = this.#findings.observe(nowMs, mode, this.#frames.listening);
    const consequences = this.#findings.consequences(findings, nowMs);
    this.#alarms.update(findings, consequences, nowMs);
    return this.#snapshot.picture(nowMs, channels, findings);
  }
}
