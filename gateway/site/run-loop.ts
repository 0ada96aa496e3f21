/**
 * Drives one site: packets and entries go to the journal and to the core, pictures come out, in one order.
 *
 * In: packets, entries and ticks, with the wall's time handed in by `wallMs`. Out: pictures to show. The core sees time
 * and readings in the order in which the journal has them, so a journal played again gives the same pictures. A new run
 * starts when a simulation speaks up or its clock jumps, or when the wall's clock is set back; a run that ever held
 * simulated data is marked so for good. If the core throws, the frame is kept and raw values go on.
 */
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Role } from '../../config/wire/access.ts';
import type { Entry, EntryAnswer } from '../../config/wire/entry.ts';
import type { LiveMessage, Series } from '../../config/wire/live.ts';
import { RunClock } from '../ingest/devices/run-clock.ts';
import type { SourcePacket } from '../ingest/transport/mqtt-source.ts';
import { simulatedInput } from '../ingest/transport/simulated-input.ts';
import { Arrivals } from './arrivals.ts';
import { enterInto } from './entries.ts';
import { GuardedCore } from './guarded-core.ts';
import type { Rebuild } from './rebuild.ts';
import { beginRun, type Run, type RunParts } from './run.ts';
import { Shown, type Latest } from './shown.ts';

/** Judgement: brokers let 10 to 20 packets go unacknowledged before they stop sending. */
const BATCH = 8;
const FRAME_MS = 1_000;
/** Of each tick, so that the rest goes on meanwhile. */
const REBUILD_SLICE_MS = 200;

export class RunLoop {
  readonly #parts: RunParts;
  readonly #clock = new RunClock();
  readonly #arrivals = new Arrivals();
  readonly #shown: Shown;
  #run: Run;

  constructor(parts: RunParts) {
    this.#parts = parts;
    this.#run = this.#begin(parts.bundledSimulator, false);
    this.#firstFrame();
    this.#shown = new Shown(parts, this.#arrivals, this.#run.startedMs);
  }

  get run(): { readonly name: string; readonly startedMs: number } {
    return { name: this.#run.journal.run, startedMs: this.#run.startedMs };
  }

  get latest(): Latest | null {
    return this.#shown.latest;
  }

  /** So many senders wait that the batch should be written now rather than with the next tick. */
  get batchFull(): boolean {
    return this.#run.journal.awaited >= (this.#clock.hurried ? 1 : BATCH);
  }

  packet(source: SourcePacket): void {
    if (source.stray && this.#run.intake.isElsewhere(source.topic, source.stray === 'shared')) {
      source.acknowledge?.();
      return;
    }
    const wallMs = this.#parts.wallMs();
    if (this.#arrivals.isTwin(source, wallMs)) {
      this.#arrivals.fileTwin(source, this.#run, this.#clock.now(wallMs));
      return;
    }
    const from = this.#parts.simulatedFrom ?? 'anybody';
    const { refused, beat, marks } = simulatedInput(source, this.#run.intake, from, this.#run.simulated);
    const jumped = beat !== null && this.#clock.beat(beat, wallMs);
    if (jumped || marks) {
      // What the old run took before the first beat may have come from the simulation too.
      this.#run.journal.markSimulated();
      this.#restart(true);
    }
    const receivedMs = this.#clock.now(wallMs);
    const filed = this.#arrivals.file(source, refused, this.#run, { receivedMs, wallMs }, this.#clock.speed);
    if (!filed) return;
    this.#advance(receivedMs);
    this.#arrivals.handOn(filed, this.#run, receivedMs);
  }

  connection(state: FeedPicture['broker']['state']): void {
    if (state !== this.#shown.brokerState) this.#shown.connection(state, this.#clock.now(this.#parts.wallMs()));
  }

  /** Moves time on; to be called a few times a second. No batch stays open longer than from one call to the next. */
  tick(): void {
    if (this.#run.rebuild) this.#rebuildOn(this.#run.rebuild);
    const wallMs = this.#parts.wallMs();
    if (this.#clock.isAheadOf(wallMs)) {
      this.#clock.setTo(wallMs);
      this.#restart(this.#run.simulated);
    }
    this.#advance(this.#clock.now(wallMs));
    this.flush();
    this.#run.journal.tend(this.#parts.upMs?.() ?? performance.now());
    this.#hearOn(wallMs);
  }

  #hearOn(wallMs: number): void {
    const { senders } = this.#parts;
    const { journal } = this.#run;
    const diskFails = journal.state.state === 'failed';
    senders?.hear?.(this.#arrivals.hearing(diskFails, this.#shown.brokerState === 'connected', wallMs));
    if (diskFails || !journal.owes) return;
    journal.resendRequested();
    senders?.again();
  }

  flush(): void {
    this.#run.journal.flush();
  }

  /** Null: it was taken and is on disk; words: it was not taken; an answer: it was and something is not so yet. */
  enter(entry: Entry, role: Role | null = null): string | EntryAnswer | null {
    const wallMs = this.#parts.wallMs();
    const atMs = this.#clock.now(wallMs);
    this.#advance(atMs);
    return enterInto(this.#run, { entry, role, atMs, wallMs }, this.latest?.picture ?? null);
  }

  /** What was measured since this was asked last. */
  news(): Extract<LiveMessage, { type: 'values' }> {
    const { raw, simulated } = this.#run;
    return { type: 'values', simulated, values: raw.news(this.#clock.now(this.#parts.wallMs())) };
  }

  series(channel: string, fromMs: number, toMs: number): Series | null {
    return this.#run.journal.series(channel, fromMs, toMs);
  }

  close(): void {
    this.#run.rebuild?.close();
    this.#run.journal.close();
  }

  #begin(simulated: boolean, patient: boolean): Run {
    const startedWallMs = this.#parts.wallMs();
    return beginRun(this.#parts, { simulated, patient, startedWallMs }, this.#clock, (history, run) =>
      this.#arrivals.recall(history, run),
    );
  }

  /** Meanwhile packets go to the journal, and reach the core from there. */
  #rebuildOn(rebuild: Rebuild): void {
    const { journal, core, simulated } = this.#run;
    const wallMs = this.#parts.wallMs();
    const nowMs = this.#clock.now(wallMs);
    const caughtUp = core.attempt(nowMs, 'rebuild', () => {
      if (!rebuild.work(() => this.#parts.wallMs() >= wallMs + REBUILD_SLICE_MS)) return false;
      journal.flush();
      return journal.state.state === 'writing' && rebuild.work(() => false);
    });
    if (caughtUp === false) return;
    rebuild.close();
    this.#run = { ...this.#run, rebuild: null };
    if (caughtUp) return;
    // What broke the core once breaks it again: better to go on without what it knew.
    const { layout, makeWatch } = this.#parts;
    this.#run = { ...this.#run, core: new GuardedCore(makeWatch(layout, { simulated }), journal) };
    this.#run.core.advance(nowMs);
  }

  /** A replay starts at the run's written start, so the core must have begun there too. */
  #firstFrame(): void {
    const { startedMs, core, rebuild } = this.#run;
    if (!rebuild) core.advance(startedMs);
  }

  #restart(simulated: boolean): void {
    this.#run.rebuild?.close();
    const complete = this.#run.journal.close();
    if (!complete) this.#arrivals.forget();
    this.#run = this.#begin(simulated, true);
    if (!complete) this.#run.journal.requireResend();
    this.#firstFrame();
    this.#shown.begin(this.#run.startedMs);
    this.#parts.restarted();
  }

  #advance(nowMs: number): void {
    const { rebuild, raw, core, simulated, journal } = this.#run;
    const frameMs = Math.floor(nowMs / FRAME_MS) * FRAME_MS;
    const picture = rebuild ? null : core.advance(nowMs);
    if (picture) this.#shown.picture(picture, this.#run, true);
    if (frameMs <= (this.latest?.picture.atMs ?? 0)) return;
    if (rebuild) {
      const why =
        'The gateway was started again and works through its record: ' +
        `${Math.floor(100 * rebuild.share(nowMs))} % done.`;
      const known = raw.picture(frameMs, rebuild.sinceMs, why, journal.lastPicture, simulated);
      this.#shown.picture(known, this.#run, false);
    } else if (core.failed) {
      const { sinceMs, why } = core.failed;
      const known = raw.picture(frameMs, sinceMs, why, this.latest?.picture ?? null, simulated);
      this.#shown.picture(known, this.#run, true);
    }
  }
}
