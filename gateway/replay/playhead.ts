/**
 * Where a replay stands, and how fast it goes.
 *
 * In: orders from the screen, ticks with the wall's time, the run's first and last moment. Out: the moment that is
 * shown. A second of the wall never crosses much at once: a laptop that slept does not skip the night.
 */
import type { ReplaySpeed } from '../../config/wire/replay.ts';

const ELAPSED_MAX_MS = 1_000;

export class Playhead {
  readonly fromMs: number;
  readonly toMs: number;
  #atMs: number;
  #playing = false;
  #speed: ReplaySpeed = 1;
  #tickedMs: number | null = null;

  constructor(fromMs: number, endMs: number) {
    this.fromMs = fromMs;
    this.toMs = Math.max(fromMs, endMs);
    this.#atMs = fromMs;
  }

  get atMs(): number {
    return this.#atMs;
  }

  get playing(): boolean {
    return this.#playing;
  }

  get speed(): ReplaySpeed {
    return this.#speed;
  }

  /** From the start again, if it stands at the end. */
  play(): void {
    if (this.#atMs >= this.toMs) this.#atMs = this.fromMs;
    this.#playing = true;
  }

  pause(): void {
    this.#playing = false;
  }

  /** Stands still so many seconds from here. */
  step(seconds: number): void {
    this.#playing = false;
    this.go(Math.floor(this.#atMs / 1_000) * 1_000 + seconds * 1_000);
  }

  go(atMs: number): void {
    this.#atMs = Math.min(this.toMs, Math.max(this.fromMs, atMs));
  }

  setSpeed(speed: ReplaySpeed): void {
    this.#speed = speed;
  }

  /** `changes`: when the picture changes, oldest first, for a replay that leaps from change to change. */
  tick(wallMs: number, changes: readonly number[]): void {
    const elapsedMs = Math.min(ELAPSED_MAX_MS, Math.max(0, wallMs - (this.#tickedMs ?? wallMs)));
    this.#tickedMs = wallMs;
    if (!this.#playing) return;
    const next =
      this.#speed === 'changes'
        ? (changes.find((atMs) => atMs > this.#atMs) ?? this.toMs)
        : this.#atMs + elapsedMs * this.#speed;
    this.#atMs = Math.min(this.toMs, next);
    if (this.#atMs >= this.toMs) this.#playing = false;
  }
}
