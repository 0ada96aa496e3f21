/**
 * The run's own clock: the wall's, or a simulation's while one is beating.
 *
 * In: wall time (ms since 1970) and the beats of `wetdown/SITE/simulation`. Out: the run's time, which never goes back
 * within a run. Between beats it runs at the simulation's speed, but never past the next beat by more than one beat;
 * when the beats stop it goes on at the wall's pace, so that what was fresh gets stale instead of standing still.
 */
import type { Beat } from '../payloads/house-message.ts';

/** Judgement: a simulation that has not beaten for so long is gone. */
const LOST_AFTER_MS = 5_000;
/** Judgement: so long a picture may stand still. */
const SET_BACK_MS = 30_000;
/** Judgement: a beat further off than this (times its speed) belongs to another run. */
const JUMP_MS = 10_000;

export class RunClock {
  #beat: Beat | null = null;
  #beatWallMs = 0;
  #periodMs = 1_000;
  #newestMs = 0;

  /** Speed of the clock against the wall. */
  get speed(): number {
    return this.#beat?.speed ?? 1;
  }

  /** A simulation waits for its acknowledgements before it goes on. */
  get hurried(): boolean {
    return this.#beat !== null && this.#beat.speed !== 1;
  }

  /** The wall's clock was set back: this run would stand still until it is there again. */
  isAheadOf(wallMs: number): boolean {
    return this.#beat === null && this.#newestMs - wallMs > SET_BACK_MS;
  }

  /** For a new run. */
  setTo(wallMs: number): void {
    this.#newestMs = wallMs;
  }

  /** Goes on with a run whose newest moment this was. */
  resume(endedMs: number): void {
    this.#newestMs = Math.max(this.#newestMs, endedMs);
  }

  now(wallMs: number): number {
    this.#newestMs = Math.max(this.#newestMs, Math.round(this.#estimate(wallMs)));
    return this.#newestMs;
  }

  /** Takes a beat. True: time has jumped (first beat, or another simulation), so a new run must start. */
  beat(beat: Beat, wallMs: number): boolean {
    const beforeMs = this.now(wallMs);
    const leaping = this.#beat !== null && beat.speed === null && beat.timeMs > beforeMs;
    const jumped = !leaping && Math.abs(beat.timeMs - beforeMs) > JUMP_MS * Math.max(1, beat.speed ?? 1, this.speed);
    if (this.#beat && !jumped) this.#periodMs = Math.max(0, beat.timeMs - this.#beat.timeMs) || this.#periodMs;
    this.#beat = beat;
    this.#beatWallMs = wallMs;
    if (jumped) this.#newestMs = Math.round(beat.timeMs);
    return jumped;
  }

  #estimate(wallMs: number): number {
    if (!this.#beat) return wallMs;
    const elapsedMs = Math.max(0, wallMs - this.#beatWallMs);
    const aheadMs = Math.min(elapsedMs * (this.#beat.speed ?? 0), 2 * this.#periodMs);
    return this.#beat.timeMs + aheadMs + Math.max(0, elapsedMs - LOST_AFTER_MS);
  }
}
