/**
 * Drives one site: packets and entries go to the journal and to the core, pictures come out, in one order.
 *
 * In: packets, entries and ticks, with the wall's time handed in by `wallMs`. Out: pictures to show. The core sees time
 * and readings in the order in which the journal has them, so a journal played again gives the same pictures. A new run
 * starts when a simulation speaks up or its clock jumps, or when the wall's clock is set back; a run that ever held
 * simulated data is marked so for good. A start goes on with the run that was left a while ago. If the core throws, the
 * frame is kept and raw values go on.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Entry, EntryAnswer, LiveMessage, Picture, Role, Series } from '../../config/wire/wire.ts';
import { entryAnswer, refusalOf, STILL_READING } from './entry-answer.ts';
import { Duplicates } from '../ingest/devices/duplicates.ts';
import { ParallelConnection, type Hearing } from '../ingest/transport/parallel-connection.ts';
import { Intake, type Taken } from '../ingest/intake.ts';
import type { SourcePacket } from '../ingest/transport/mqtt-source.ts';
import { refusedThen } from '../ingest/refusal.ts';
import { RunClock } from '../ingest/devices/run-clock.ts';
import { simulatedInput, type SimulatedFrom } from '../ingest/transport/simulated-input.ts';
import type { EarlierRun } from '../journal/earlier-run.ts';
import type { Journal } from '../journal/journal.ts';
import type { RunFacts } from '../journal/run-file.ts';
import { RawTier } from '../core/raw-picture.ts';
import { Rebuild } from './rebuild.ts';
import type { Watch } from '../core/watch.ts';

export interface RunParts {
  readonly layout: Layout;
  readonly layoutText: string;
  readonly software: string;
  readonly bundledSimulator: boolean;
  /** Whose simulated packets are taken; left out: anybody's. */
  readonly simulatedFrom?: SimulatedFrom;
  readonly broker: string;
  readonly makeWatch: (layout: Layout, options: { readonly simulated: boolean }) => Watch;
  /** `patient`: opening may fail for now, because the site is already watched. */
  readonly openJournal: (facts: RunFacts, patient: boolean) => Journal;
  readonly wallMs: () => number;
  /** How long this process runs, ms: no clock is set forward or back there. Left out: its own. */
  readonly upMs?: () => number;
  readonly show: (picture: Picture, feed: FeedPicture) => void;
  /** A new run has begun: screens must start afresh. */
  readonly restarted: () => void;
  /** How much of a long run is played again after a restart, ms; left out: as the rebuild thinks best. */
  readonly playedMs?: number;
  /** Who sends packets; left out: nobody who waits for an acknowledgement. */
  readonly senders?: Senders;
}

export interface Senders {
  /** Left out: a broker's session is not between the senders and here. */
  readonly hear?: (how: Hearing) => void;
  /** What was not acknowledged shall be sent again. */
  readonly again: () => void;
}

interface Run {
  readonly journal: Journal;
  readonly watch: Watch;
  readonly raw: RawTier;
  readonly intake: Intake;
  readonly startedMs: number;
  readonly simulated: boolean;
  /** Until it has caught up with a run that is gone on with, raw values are shown. */
  readonly rebuild: Rebuild | null;
}

/** Judgement: brokers let 10 to 20 packets go unacknowledged before they stop sending. */
const BATCH = 8;
const FRAME_MS = 1_000;
/** Of each tick, so that the rest goes on meanwhile. */
const REBUILD_SLICE_MS = 200;
/** Judgement. */
const REFUSED_BYTES = 1_024;
/** Judgement: what brokers and devices have on their way is tens to some thousands. */
const RECENT_PACKETS = 20_000;

export class RunLoop {
  readonly #parts: RunParts;
  readonly #clock = new RunClock();
  readonly #duplicates = new Duplicates();
  readonly #along = new ParallelConnection();
  #run: Run;
  #broker: FeedPicture['broker'];
  #failed: { readonly sinceMs: number; readonly why: string } | null = null;
  #latest: { readonly picture: Picture; readonly feed: FeedPicture } | null = null;

  constructor(parts: RunParts) {
    this.#parts = parts;
    this.#run = this.#begin(parts.bundledSimulator, false);
    this.#firstFrame();
    this.#broker = { address: parts.broker, state: 'connecting', sinceMs: this.#run.startedMs };
  }

  get run(): { readonly name: string; readonly startedMs: number } {
    return { name: this.#run.journal.run, startedMs: this.#run.startedMs };
  }

  get latest(): { readonly picture: Picture; readonly feed: FeedPicture } | null {
    return this.#latest;
  }

  /** So many senders wait that the batch should be written now rather than with the next tick. */
  get batchFull(): boolean {
    return this.#run.journal.awaited >= (this.#clock.hurried ? 1 : BATCH);
  }

  packet(source: SourcePacket): void {
    const { acknowledge } = source;
    if (source.stray && this.#run.intake.isElsewhere(source.topic, source.stray === 'shared')) {
      acknowledge?.();
      return;
    }
    const wallMs = this.#parts.wallMs();
    if (!this.#duplicates.isAgain(source) && this.#along.isTwin(source, wallMs)) {
      this.#duplicates.count(source.topic, this.#clock.now(wallMs));
      this.#run.journal.acknowledgeWithNext(acknowledge ?? null);
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
    const { topic, retained, messageId } = source;
    const taken = this.#run.intake.take({ ...source, receivedMs, refused }, this.#clock.speed);
    const { journal } = this.#run;
    if (this.#duplicates.isOne(source, isToldByContent(source, taken), receivedMs)) {
      journal.acknowledgeWithNext(acknowledge ?? null);
      return;
    }
    const number = journal.packet(
      {
        topic,
        payload: keptOf(source.payload, taken),
        retained,
        messageId,
        receivedMs,
        receivedWallMs: wallMs,
        verdict: taken.verdict,
      },
      acknowledge,
    );
    if (number !== null) this.#along.note(source, wallMs);
    else this.#duplicates.forget(source);
    this.#advance(receivedMs);
    for (const channel of taken.silenced) {
      this.#run.raw.silence(channel);
      this.#guard(receivedMs, `silence ${channel}`, () => this.#run.watch.silence(channel));
    }
    for (const reading of taken.readings) {
      if (number !== null) journal.reading(reading, reading.live, number);
      if (!reading.live) continue;
      this.#run.raw.take(reading);
      if (!this.#run.rebuild) this.#guard(receivedMs, `take ${reading.channel}`, () => this.#run.watch.take(reading));
    }
  }

  connection(state: FeedPicture['broker']['state']): void {
    if (state === this.#broker.state) return;
    this.#broker = { ...this.#broker, state, sinceMs: this.#clock.now(this.#parts.wallMs()) };
  }

  /** Moves time on; to be called a few times a second. No batch stays open longer than from one call to the next. */
  tick(): void {
    if (this.#run.rebuild) this.#rebuildOn(this.#run.rebuild);
    const wallMs = this.#parts.wallMs();
    if (this.#clock.isAheadOf(wallMs)) {
      this.#clock.setTo(wallMs);
      this.#restart(this.#run.simulated);
    }
    const nowMs = this.#clock.now(wallMs);
    this.#advance(nowMs);
    this.flush();
    this.#run.journal.tend(this.#parts.upMs?.() ?? performance.now());
    this.#hearOn(wallMs);
  }

  #hearOn(wallMs: number): void {
    const { senders } = this.#parts;
    const { journal } = this.#run;
    const diskFails = journal.state.state === 'failed';
    senders?.hear?.(this.#along.choose(diskFails, this.#broker.state === 'connected', wallMs));
    if (diskFails || !journal.owes) return;
    journal.owes = false;
    senders?.again();
  }

  flush(): void {
    this.#run.journal.flush();
  }

  /**
   * A person's entry: null when it was taken and is on disk, words when it was not taken, an answer when it was and
   * something is not so yet. Either way it goes to the journal, with the role they had.
   */
  enter(entry: Entry, role: Role | null = null): string | EntryAnswer | null {
    const wallMs = this.#parts.wallMs();
    const atMs = this.#clock.now(wallMs);
    this.#advance(atMs);
    const { intake, rebuild, watch, journal } = this.#run;
    if (rebuild && entry.kind === 'baseline') return `No baseline yet: ${STILL_READING} Try again in a moment.`;
    const refusal =
      intake.objection(entry, this.#latest?.picture ?? null) ??
      (rebuild ? null : this.#guard(atMs, `enter ${entry.kind}`, () => watch.enter(entry, atMs))) ??
      null;
    const words =
      this.#failed && refusal === null
        ? 'Noted in the record, but the diagnosis is not working: nothing will come of it now.'
        : refusal;
    const done = words === null ? intake.heed(entry, atMs) : entry;
    journal.entry(role === null ? done : Object.assign({ role }, done), atMs, wallMs, words);
    journal.flush();
    return words === null ? entryAnswer(journal.state, rebuild !== null) : refusalOf(words, journal.state);
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
    const { layout, layoutText, software, makeWatch, openJournal, wallMs } = this.#parts;
    const startedWallMs = wallMs();
    const startedMs = this.#clock.now(startedWallMs);
    const journal = openJournal({ layout, layoutText, software, simulated, startedMs, startedWallMs }, patient);
    const watch = makeWatch(layout, { simulated });
    const run: Run = {
      journal,
      watch,
      raw: new RawTier(layout),
      intake: new Intake(layout),
      startedMs,
      simulated,
      rebuild: null,
    };
    return journal.earlier ? this.#goOn(run, journal.earlier) : run;
  }

  /** What was known of single packets is there at once; what the core knew takes longer. */
  #goOn(run: Run, earlier: EarlierRun): Run {
    const { journal, intake, raw, watch } = run;
    this.#clock.resume(earlier.endedMs);
    journal.flush();
    const history = journal.history();
    for (const { entry, atMs } of history.taken('assign', 'tare')) intake.heed(entry, atMs);
    for (const { messageId, ...packet } of history.latest(RECENT_PACKETS)) {
      const taken = intake.take({ ...packet, refused: refusedThen(packet.verdict) }, 1);
      this.#duplicates.isOne(
        { ...packet, ...(messageId === null ? {} : { messageId }) },
        isToldByContent(packet, taken),
        packet.receivedMs,
      );
      for (const reading of taken.readings) if (reading.live) raw.take(reading);
    }
    return {
      ...run,
      startedMs: earlier.startedMs,
      rebuild: new Rebuild(
        this.#parts.layout,
        watch,
        history,
        { ...earlier, resumedMs: run.startedMs },
        this.#parts.playedMs,
      ),
    };
  }

  /** Meanwhile packets go to the journal, and reach the core from there. */
  #rebuildOn(rebuild: Rebuild): void {
    const { journal } = this.#run;
    const wallMs = this.#parts.wallMs();
    const nowMs = this.#clock.now(wallMs);
    const caughtUp = this.#guard(nowMs, 'rebuild', () => {
      if (!rebuild.work(() => this.#parts.wallMs() >= wallMs + REBUILD_SLICE_MS)) return false;
      journal.flush();
      return journal.state.state === 'writing' && rebuild.work(() => false);
    });
    if (caughtUp === false) return;
    rebuild.close();
    this.#run = { ...this.#run, rebuild: null };
    if (caughtUp) return;
    // What broke the core once breaks it again: better to go on without what it knew.
    this.#failed = null;
    this.#run = { ...this.#run, watch: this.#parts.makeWatch(this.#parts.layout, { simulated: this.#run.simulated }) };
    this.#guard(nowMs, 'advance', () => this.#run.watch.advance(nowMs));
  }

  /** A replay starts at the run's written start, so the core must have begun there too. */
  #firstFrame(): void {
    const { startedMs, watch, rebuild } = this.#run;
    if (!rebuild) this.#guard(startedMs, 'advance', () => watch.advance(startedMs));
  }

  #restart(simulated: boolean): void {
    this.#run.rebuild?.close();
    const complete = this.#run.journal.close();
    if (!complete) {
      this.#duplicates.forgetAll();
      this.#along.forget();
    }
    this.#run = this.#begin(simulated, true);
    this.#run.journal.owes = !complete;
    this.#failed = null;
    this.#latest = null;
    this.#firstFrame();
    this.#broker = { ...this.#broker, sinceMs: this.#run.startedMs };
    this.#parts.restarted();
  }

  #advance(nowMs: number): void {
    const { rebuild, raw, simulated, journal } = this.#run;
    const frameMs = Math.floor(nowMs / FRAME_MS) * FRAME_MS;
    if (rebuild) {
      const why = `The gateway was started again and works through its record: ${Math.floor(100 * rebuild.share(nowMs))} % done.`;
      if (frameMs > (this.#latest?.picture.atMs ?? 0))
        this.#show(raw.picture(frameMs, rebuild.sinceMs, why, journal.lastPicture, simulated), false);
      return;
    }
    if (!this.#failed) {
      const picture = this.#guard(nowMs, 'advance', () => this.#run.watch.advance(nowMs));
      if (picture) this.#show(picture);
    }
    const failed = this.#failed as { readonly sinceMs: number; readonly why: string } | null;
    if (!failed || frameMs <= (this.#latest?.picture.atMs ?? 0)) return;
    this.#show(raw.picture(frameMs, failed.sinceMs, failed.why, this.#latest?.picture ?? null, simulated));
  }

  #show(picture: Picture, recorded = true): void {
    const { intake, journal, watch } = this.#run;
    // What a core that has thrown counted since is not known: what was written before stands.
    const books = (): string | null => this.#guard(picture.atMs, 'books', () => watch.books());
    if (recorded) journal.picture(picture, books);
    const feed = {
      broker: this.#broker,
      devices: intake.devicesAt(picture.atMs),
      rejected: [...intake.rejected, ...this.#duplicates.told],
      unknownDevices: intake.unknownDevices,
      assigned: intake.assigned,
      tares: intake.tares,
      journal: journal.state,
    };
    this.#latest = { picture, feed };
    this.#parts.show(picture, feed);
  }

  #guard<Result>(nowMs: number, doing: string, act: () => Result): Result | null {
    if (this.#failed) return null;
    try {
      return act();
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      this.#failed = { sinceMs: Math.round(nowMs), why: `${why}. Restart the gateway to try again.` };
      this.#run.journal.breakage(nowMs, doing, error instanceof Error ? (error.stack ?? why) : why);
      return null;
    }
  }
}

/** Of what was refused whole, enough to see why: strangers shall not fill the disk. */
function keptOf(payload: Uint8Array, { readings, verdict }: Taken): Uint8Array {
  return readings.length === 0 && verdict.startsWith('ingest/') ? payload.subarray(0, REFUSED_BYTES) : payload;
}

/** All its readings were dated by their device; or it is a status that the broker keeps. */
function isToldByContent({ retained }: SourcePacket, { readings, verdict }: Taken): boolean {
  if (retained && verdict === 'status') return true;
  return readings.length > 0 && readings.every(({ dated }) => dated);
}
