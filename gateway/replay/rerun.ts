/**
 * Drives the core once more over what a run's record has, in the order and at the times in which it came.
 *
 * In: what the core was given, and the times of recorded pictures; a maker of watches. Out: a picture for every second,
 * by the same calls in the same order as the live loop made (packet: time first, then its readings; entry: time first,
 * then the entry), so under the same rules they are the same to the byte. With `late` given, readings that came too
 * late for the screen are taken at their own time as well: what could have been known. A generator: it hands control
 * back after each event, and whoever drives it may stop. Limit: in a stretch without any record the live loop slept; it
 * is crossed in one stride, as it was then.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { Intake } from '../ingest/intake.ts';
import { refusedThen } from '../ingest/refusal.ts';
import type { PastEvent, PastPacket } from '../journal/history.ts';
import type { Reading } from '../core/telemetry/reading.ts';

/** What of the core is needed here. */
export interface RerunWatch {
  take(reading: Reading): void;
  silence(channel: string): void;
  enter(entry: Entry, atMs: number): string | null;
  advance(nowMs: number, wasAway?: boolean): Picture | null;
}

export interface RunInput {
  readonly layout: Layout;
  readonly startedMs: number;
  readonly endMs: number;
  readonly events: Iterable<PastEvent>;
  /** Times of recorded pictures, rising: the live loop was awake then. */
  readonly awakeMs: readonly number[];
  /** Readings that were filed but never shown, by their own time; left out: they stay unseen, as then. */
  readonly late?: readonly Reading[];
}

const FRAME_MS = 1_000;
/** The live loop records a picture a minute at least: in a longer silence it was not awake. */
const ASLEEP_MS = 150_000;

/** Yields the time it has reached. */
export function* rerun(input: RunInput, watch: RerunWatch, show: (picture: Picture) => void): Generator<number, void> {
  const clock = new FrameClock(input, watch, show);
  const playback = new Playback(input.layout, watch, (atMs) => clock.to(atMs));
  clock.to(input.startedMs);
  for (const event of input.events) {
    playback.play(event);
    if (event.kind === 'restart') clock.leapTo(event.atMs);
    yield clock.nowMs;
  }
  clock.to(input.endMs);
  yield clock.nowMs;
}

/** Gives a core what one before it was given, by the same calls in the same order; `to` moves it on in time. */
export class Playback {
  readonly #intake: Intake;
  readonly #watch: RerunWatch;
  readonly #to: (atMs: number) => void;
  #speed = 1;

  constructor(layout: Layout, watch: RerunWatch, to: (atMs: number) => void) {
    this.#intake = new Intake(layout);
    this.#watch = watch;
    this.#to = to;
  }

  play(event: PastEvent): void {
    if (event.kind === 'packet') this.#packet(event);
    else if (event.kind === 'entry') {
      this.#to(event.atMs);
      this.enter(event);
    } else {
      this.#to(event.endedMs);
      this.#watch.advance(event.atMs, true);
    }
  }

  /** Without moving on to it. */
  enter({ entry, atMs, refusal }: Extract<PastEvent, { kind: 'entry' }>): void {
    this.#watch.enter(entry, atMs);
    if (refusal === null) this.#intake.heed(entry, atMs);
  }

  #packet(packet: PastPacket): void {
    const refused = refusedThen(packet.verdict);
    const beat = refused ? null : this.#intake.beatOf(packet);
    if (beat !== null) this.#speed = beat.speed ?? 1;
    const taken = this.#intake.take({ ...packet, refused }, this.#speed);
    this.#to(packet.receivedMs);
    for (const channel of taken.silenced) this.#watch.silence(channel);
    for (const reading of taken.readings) if (reading.live) this.#watch.take(reading);
  }
}

/** Frame by frame, so that each picture can be shown. */
class FrameClock {
  readonly #input: RunInput;
  readonly #watch: RerunWatch;
  readonly #show: (picture: Picture) => void;
  #nowMs: number;
  #awake = 0;
  #late = 0;

  constructor(input: RunInput, watch: RerunWatch, show: (picture: Picture) => void) {
    this.#input = input;
    this.#watch = watch;
    this.#show = show;
    this.#nowMs = input.startedMs - FRAME_MS;
  }

  get nowMs(): number {
    return this.#nowMs;
  }

  /** Over a stretch in which nobody watched. */
  leapTo(atMs: number): void {
    this.#nowMs = Math.max(this.#nowMs, atMs);
  }

  to(targetMs: number): void {
    const { awakeMs } = this.#input;
    for (; this.#awake < awakeMs.length && awakeMs[this.#awake]! <= targetMs; this.#awake += 1)
      this.#stride(awakeMs[this.#awake]!);
    this.#stride(targetMs);
  }

  #stride(targetMs: number): void {
    if (targetMs <= this.#nowMs) return;
    const firstMs = Math.floor(this.#nowMs / FRAME_MS) * FRAME_MS + FRAME_MS;
    if (targetMs - this.#nowMs <= ASLEEP_MS)
      for (let frameMs = firstMs; frameMs < targetMs; frameMs += FRAME_MS) this.#advance(frameMs);
    this.#advance(targetMs);
    this.#nowMs = targetMs;
  }

  #advance(toMs: number): void {
    const late = this.#input.late ?? [];
    // As if it had come when it was measured: a backlog's clock is not at fault.
    for (; this.#late < late.length && late[this.#late]!.atMs < toMs; this.#late += 1)
      this.#watch.take({ ...late[this.#late]!, receivedMs: late[this.#late]!.atMs });
    const picture = this.#watch.advance(toMs);
    if (picture) this.#show(picture);
  }
}
