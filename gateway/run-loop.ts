/**
 * Drives one site: packets and entries go to the journal and to the core, pictures come out, in one order.
 *
 * In: packets, entries and ticks, with the wall's time handed in by `wallMs`. Out: pictures to show. The core sees time and
 * readings in the order in which the journal has them, so a journal played again gives the same pictures. A new run starts
 * when a simulation speaks up or its clock jumps; a run that ever held simulated data is marked so for good. If the core throws,
 * the frame is kept and raw values go on.
 */
import type { Layout } from '../config/layout.ts';
import type { Entry, FeedPicture, Picture, Role, Series } from '../config/wire.ts';
import { Intake } from './ingest/intake.ts';
import type { SourcePacket } from './ingest/mqtt-source.ts';
import { RunClock } from './ingest/run-clock.ts';
import type { Journal } from './journal/journal.ts';
import type { RunFacts } from './journal/run-file.ts';
import { RawTier } from './raw-picture.ts';
import type { Watch } from './watch.ts';

export interface RunParts {
  readonly layout: Layout;
  readonly layoutText: string;
  readonly software: string;
  readonly bundledSimulator: boolean;
  readonly broker: string;
  readonly makeWatch: (layout: Layout, options: { readonly simulated: boolean }) => Watch;
  /** `patient`: opening may fail for now, because the site is already watched. */
  readonly openJournal: (facts: RunFacts, patient: boolean) => Journal;
  readonly wallMs: () => number;
  readonly show: (picture: Picture, feed: FeedPicture) => void;
  /** A new run has begun: screens must start afresh. */
  readonly restarted: () => void;
}

interface Run {
  readonly journal: Journal;
  readonly watch: Watch;
  readonly raw: RawTier;
  readonly intake: Intake;
  readonly startedMs: number;
  readonly simulated: boolean;
}

const FLUSH_EVERY_MS = 1_000;
const FRAME_MS = 1_000;

export class RunLoop {
  readonly #parts: RunParts;
  readonly #clock = new RunClock();
  #run: Run;
  #broker: FeedPicture['broker'];
  #failed: { readonly sinceMs: number; readonly why: string } | null = null;
  #latest: { readonly picture: Picture; readonly feed: FeedPicture } | null = null;
  #flushedWallMs = 0;

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

  packet(source: SourcePacket): void {
    const wallMs = this.#parts.wallMs();
    const undated = { ...source, receivedMs: 0 };
    const beat = this.#run.intake.beatOf(undated);
    const jumped = beat !== null && this.#clock.beat(beat, wallMs);
    const unmasked = !this.#run.simulated && (beat !== null || this.#run.intake.isSimulated(undated));
    if (jumped || unmasked) this.#restart();
    const receivedMs = this.#clock.now(wallMs);
    const taken = this.#run.intake.take({ ...source, receivedMs }, this.#clock.speed);
    const { journal } = this.#run;
    const number = journal.packet({ ...source, receivedMs, receivedWallMs: wallMs, verdict: taken.verdict });
    this.#advance(receivedMs);
    for (const channel of taken.silenced) {
      this.#run.raw.silence(channel);
      this.#guard(receivedMs, `silence ${channel}`, () => this.#run.watch.silence(channel));
    }
    for (const { live, ...reading } of taken.readings) {
      journal.reading(reading, live, number);
      if (!live) continue;
      this.#run.raw.take(reading);
      this.#guard(receivedMs, `take ${reading.channel}`, () => this.#run.watch.take(reading));
    }
  }

  connection(state: FeedPicture['broker']['state']): void {
    if (state === this.#broker.state) return;
    this.#broker = { ...this.#broker, state, sinceMs: this.#clock.now(this.#parts.wallMs()) };
  }

  /** Moves time on; to be called a few times a second. */
  tick(): void {
    const wallMs = this.#parts.wallMs();
    this.#advance(this.#clock.now(wallMs));
    if (Math.abs(wallMs - this.#flushedWallMs) < FLUSH_EVERY_MS) return;
    this.#flushedWallMs = wallMs;
    this.#run.journal.flush();
  }

  /** A person's entry: null when it was taken, else why not. Either way it is in the journal, with the role they had. */
  enter(entry: Entry, role: Role | null = null): string | null {
    const wallMs = this.#parts.wallMs();
    const atMs = this.#clock.now(wallMs);
    this.#advance(atMs);
    const { intake } = this.#run;
    const refusal = intake.objection(entry, this.#latest?.picture ?? null) ?? this.#guard(atMs, `enter ${entry.kind}`, () => this.#run.watch.enter(entry, atMs)) ?? null;
    if (refusal === null) intake.heed(entry, atMs);
    const words = this.#failed && refusal === null ? 'Noted in the record, but the diagnosis is not working: nothing will come of it now.' : refusal;
    const signed = role === null ? entry : Object.assign({ role }, entry);
    this.#run.journal.entry(signed, atMs, wallMs, words);
    this.#run.journal.flush();
    return words;
  }

  series(channel: string, fromMs: number, toMs: number): Series | null {
    return this.#run.journal.series(channel, fromMs, toMs);
  }

  close(): void {
    this.#run.journal.close();
  }

  #begin(simulated: boolean, patient: boolean): Run {
    const { layout, layoutText, software, makeWatch, openJournal, wallMs } = this.#parts;
    const startedWallMs = wallMs();
    const startedMs = this.#clock.now(startedWallMs);
    const journal = openJournal({ layout, layoutText, software, simulated, startedMs, startedWallMs }, patient);
    return { journal, watch: makeWatch(layout, { simulated }), raw: new RawTier(layout), intake: new Intake(layout), startedMs, simulated };
  }

  /** A replay starts at the run's written start, so the core must have begun there too. */
  #firstFrame(): void {
    const { startedMs, watch } = this.#run;
    this.#guard(startedMs, 'advance', () => watch.advance(startedMs));
  }

  /** What the old run took before the first beat may have come from the simulation too. */
  #restart(): void {
    this.#run.journal.markSimulated();
    this.#run.journal.close();
    this.#run = this.#begin(true, true);
    this.#failed = null;
    this.#latest = null;
    this.#firstFrame();
    this.#broker = { ...this.#broker, sinceMs: this.#run.startedMs };
    this.#parts.restarted();
  }

  #advance(nowMs: number): void {
    if (!this.#failed) {
      const picture = this.#guard(nowMs, 'advance', () => this.#run.watch.advance(nowMs));
      if (picture) this.#show(picture);
    }
    const failed = this.#failed as { readonly sinceMs: number; readonly why: string } | null;
    const frameMs = Math.floor(nowMs / FRAME_MS) * FRAME_MS;
    if (!failed || frameMs <= (this.#latest?.picture.atMs ?? 0)) return;
    this.#show(this.#run.raw.picture(frameMs, failed.sinceMs, failed.why, this.#latest?.picture ?? null, this.#run.simulated));
  }

  #show(picture: Picture): void {
    this.#run.journal.picture(picture);
    const { intake, journal } = this.#run;
    const feed = { broker: this.#broker, devices: intake.devicesAt(picture.atMs), rejected: intake.rejected, unknownDevices: intake.unknownDevices, assigned: intake.assigned, tares: intake.tares, journal: journal.state };
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
