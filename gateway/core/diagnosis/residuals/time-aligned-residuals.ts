/**
 * Residuals at the time of measurement: a reading is held against what was expected when it was taken.
 *
 * Without this, a reading that comes seconds late looks like a trouble as soon as the pump moves. In: each frame's
 * expectation with the time of its boundary. Out: residuals with the time they belong to (SI). Of a pump heard every
 * second or two the nearest boundary counts. Under one that is seldom heard a reading waits for the next boundary:
 * near one it is held against that, between two that agree against a value between them, between two that differ
 * against nothing. Limits: of several pumps the one heard last dates the boundary; a pump that moved and came back in
 * between is not seen.
 */
import { mean } from '../../statistics/gaussian.ts';

/**
 * Judgement: so many frames are kept; what is older than their boundaries by more than a device's clock may be off says
 * nothing of them.
 */
const KEPT_FRAMES = 12;
const CLOCK_OFF_MS = 6_000;
/** Judgement: a boundary that comes more seldom is waited for; a reading within so much of it belongs to it. */
const SELDOM_MS = 2_500;
const BESIDE_MS = 1_500;
/** Judgement: what a gauge should read has not moved between two boundaries if it differs by less than this share. */
const AGREE_SHARE = 0.02;

export interface Residual {
  readonly gauge: number;
  readonly atMs: number;
  readonly value: number;
}

interface Reading {
  readonly gauge: number;
  readonly measuredMs: number;
  readonly value: number;
}

interface Expected {
  readonly boundaryMs: number;
  readonly values: Float64Array;
}

export interface NewReadings {
  readonly atMs: number;
  /** New reading of each gauge in this frame, and when it was measured; NaN: none. */
  readonly fresh: Float64Array;
  readonly measuredMs: Float64Array;
  /** Time between measurements of the boundary. */
  readonly boundaryEveryMs: number;
}

export class TimeAlignedResiduals {
  #frames: Expected[] = [];
  /** Readings that wait for the next boundary. */
  #waiting: Reading[] = [];

  clear(): void {
    this.#frames = [];
    this.#waiting = [];
  }

  file(boundaryMs: number, values: Float64Array): void {
    // A boundary that was not heard anew stands for the seconds after it, as the lay is now.
    const earlier = this.#frames.at(-1)?.boundaryMs === boundaryMs ? this.#frames.slice(0, -1) : this.#frames;
    this.#frames = [...earlier.slice(1 - KEPT_FRAMES), { boundaryMs, values }];
  }

  /** Of a frame's new readings, or of those that the newest boundary was waited for. */
  residuals(frame: NewReadings): Residual[] {
    const fresh = [...frame.fresh].flatMap((value, gauge): Reading[] =>
      Number.isFinite(value) ? [{ gauge, measuredMs: frame.measuredMs[gauge]!, value }] : [],
    );
    if (frame.boundaryEveryMs <= SELDOM_MS)
      return fresh.flatMap(({ gauge, measuredMs, value }) =>
        residual(gauge, frame.atMs, value, this.#nearest(gauge, measuredMs)),
      );
    const waiting = [...this.#waiting, ...fresh];
    const untilMs = this.#frames.at(-1)!.boundaryMs + BESIDE_MS;
    this.#waiting = waiting.filter(({ measuredMs }) => measuredMs > untilMs);
    return meansOf(
      waiting
        .filter(({ measuredMs }) => measuredMs <= untilMs)
        .flatMap(({ gauge, measuredMs, value }) =>
          residual(gauge, measuredMs, value, this.#between(gauge, measuredMs)),
        ),
    );
  }

  #nearest(gauge: number, measuredMs: number): number {
    const nearest = nearestOf(this.#frames, measuredMs);
    return measuredMs < this.#frames[0]!.boundaryMs - CLOCK_OFF_MS ? NaN : nearest.values[gauge]!;
  }

  #between(gauge: number, measuredMs: number): number {
    const nearest = nearestOf(this.#frames, measuredMs);
    if (Math.abs(nearest.boundaryMs - measuredMs) <= BESIDE_MS) return nearest.values[gauge]!;
    const next = this.#frames.findIndex(({ boundaryMs }) => boundaryMs > measuredMs);
    if (next < 1) return NaN;
    const [before, after] = [this.#frames[next - 1]!, this.#frames[next]!];
    const [from, to] = [before.values[gauge]!, after.values[gauge]!];
    const share = (measuredMs - before.boundaryMs) / (after.boundaryMs - before.boundaryMs);
    return Math.abs(to - from) <= AGREE_SHARE * Math.abs(from) ? from + share * (to - from) : NaN;
  }
}

/** The newest of those that are as near. */
function nearestOf(frames: readonly Expected[], measuredMs: number): Expected {
  const away = ({ boundaryMs }: Expected): number => Math.abs(boundaryMs - measuredMs);
  return frames.reduceRight((one, other) => (away(other) < away(one) ? other : one), frames.at(-1)!);
}

function residual(gauge: number, atMs: number, value: number, expected: number): Residual[] {
  return Number.isFinite(expected) ? [{ gauge, atMs, value: value - expected }] : [];
}

/** One of each gauge: however many came between two boundaries, they share the noise of these. */
function meansOf(residuals: readonly Residual[]): Residual[] {
  return [...new Set(residuals.map(({ gauge }) => gauge))].map((gauge) => {
    const own = residuals.filter((one) => one.gauge === gauge);
    return { gauge, atMs: own.at(-1)!.atMs, value: mean(own.map(({ value }) => value)) };
  });
}
