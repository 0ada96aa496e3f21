/**
 * The residual (measured minus expected of a healthy lay) of every gauge over the last minutes, in segments between
 * change points.
 *
 * A segment starts where the recent mean and the mean before it differ by more than noise allows (two-sample chi-square
 * over all gauges at several window lengths), and is cut to a bounded length so that a slow creep is followed.
 * Samples taken while the pump changes speed are not filed: the model is steady.
 */
import { cholesky, dot, whiten } from '../../statistics/gaussian.ts';
import { ResidualSeries } from './residual-series.ts';
import type { Points } from './shape.ts';

/** Judgement: longest memory of one segment, and its stretch for slow gauges. */
export const SEGMENT_MS = 60_000;
const reachMs = (intervalMs: number): number => Math.max(SEGMENT_MS, 4 * intervalMs);
const RECENT_INTERVALS = [1.5, 2.5, 3.5, 4.5];
const RECENT_MS = [2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 18, 22, 26, 30].map((seconds) => seconds * 1_000);
/**
 * Upper 1e-7 point of chi-square is about 44 at 7 and 52 at 11 degrees of freedom (computed from the gamma function).
 */
const CHANGE_PER_DEGREE = 2.3;
const CHANGE_FLOOR = 30;
/** Judgement: a change is seen before it is complete, and its place sought again for so long. */
const PLACING_MS = 6_000;
/** A pump that is heard so seldom makes a change complete only with its next reading. */
const SELDOM_MS = 2_500;
/** Judgement: what was before a change is a reference after so long, with so many readings of a gauge. */
const REFERENCE_MS = 20_000;
const REFERENCE_READINGS = 3;
/** Judgement: a change so many times beyond chance needs no third reading. */
const PLAIN_TIMES = 10;
/** A change in the making: the last two seconds off by four standard deviations of chi-square. */
const HINT_MS = 2_000;
const HINT_SD = 4;
/** Judgement: neighbouring residuals are not quite independent (pump ripple, offset walk). */
const INDEPENDENT_SHARE = 0.7;

export interface SegmentMean {
  /** Gauge indices that have samples in the segment. */
  readonly observedGauges: readonly number[];
  readonly means: Float64Array;
  /** Noise covariance of the means. */
  readonly noise: Float64Array;
  readonly startMs: number;
  readonly samples: number;
}

/** Of one spell: which gauges spoke, their mean residuals and of how many readings. */
interface Spell {
  readonly observedGauges: readonly number[];
  readonly means: readonly number[];
  readonly counts: readonly number[];
}

/** Readings that count as independent. */
const independent = (count: number): number => 1 + (count - 1) * INDEPENDENT_SHARE;

export class GaugeHistory {
  #intervalsMs: readonly number[];
  /** Lengths of what may be after a change, and for how long its place is sought again. */
  #recentMs: readonly number[] = RECENT_MS;
  #placingMs = PLACING_MS;
  readonly #series: readonly ResidualSeries[];
  #startMs = 0;
  /**
   * The last change point: when it was first seen, where the segment before it began, and how far beyond chance it is.
   */
  #changePoint = { seenMs: -Infinity, beforeMs: 0, times: 0 };

  constructor(intervalsS: readonly number[]) {
    this.#intervalsMs = intervalsS.map((interval) => interval * 1_000);
    this.#series = intervalsS.map(() => new ResidualSeries());
  }

  /** As they are kept now: time between readings of each gauge, and of the pumps that they are held against. */
  pace(everyMs: readonly number[], boundaryEveryMs: number): void {
    this.#intervalsMs = everyMs;
    if (boundaryEveryMs <= SELDOM_MS) {
      this.#recentMs = RECENT_MS;
      this.#placingMs = PLACING_MS;
      return;
    }
    const slowestMs = Math.max(boundaryEveryMs, ...everyMs);
    const longer = RECENT_INTERVALS.map((intervals) => intervals * slowestMs);
    this.#recentMs = [...RECENT_MS, ...longer.filter((recentMs) => recentMs > RECENT_MS.at(-1)!)];
    this.#placingMs = Math.max(PLACING_MS, 1.25 * slowestMs);
  }

  get startMs(): number {
    return this.#startMs;
  }

  /** Time between the readings of the gauge that is heard least often. */
  get slowestMs(): number {
    return Math.max(...this.#intervalsMs);
  }

  /** Of one gauge, in order of time. */
  file(gauge: number, atMs: number, value: number): void {
    this.#series[gauge]!.file(atMs, value);
  }

  /** Forgets everything: after a stop, a fill, a baseline or a gate moved by order. */
  restart(nowMs: number): void {
    this.#startMs = nowMs;
    this.#changePoint = { seenMs: -Infinity, beforeMs: nowMs, times: 0 };
    for (const series of this.#series) series.clear();
  }

  /** Looks for the likeliest change point and, if it is beyond chance, moves the segment's start to it. */
  findChangePoint(nowMs: number, noise: Float64Array, maySpeak: readonly boolean[]): void {
    const placing = nowMs - this.#changePoint.seenMs < this.#placingMs;
    const fromMs = placing ? this.#changePoint.beforeMs : this.#startMs;
    const limit = CHANGE_FLOOR + CHANGE_PER_DEGREE * maySpeak.filter(Boolean).length;
    let most = limit;
    let changeMs = this.#startMs;
    for (const recentMs of this.#recentMs) {
      const splitMs = nowMs - recentMs;
      if (splitMs - fromMs < 3_000) continue;
      const chiSquare = this.#chiSquare(
        this.#spell(fromMs, splitMs, maySpeak),
        this.#spell(splitMs, nowMs, maySpeak),
        noise,
      );
      if (chiSquare > most) {
        most = chiSquare;
        changeMs = splitMs;
      }
    }
    if (most === limit) return;
    this.#changePoint = { seenMs: placing ? this.#changePoint.seenMs : nowMs, beforeMs: fromMs, times: most / limit };
    this.#startMs = changeMs;
  }

  /** The segment began just now, with a change many times what chance makes, whose place was sought a second time. */
  changedPlainly(nowMs: number): boolean {
    const ageMs = nowMs - this.#changePoint.seenMs;
    return ageMs >= 1_000 && ageMs < this.#placingMs && this.#changePoint.times > PLAIN_TIMES;
  }

  /**
   * While a change is being placed: the segment before it, from `fromMs` on, up to it. Null: no change, or too little
   * before it.
   */
  beforeChange(nowMs: number, fromMs: number, noise: Float64Array, maySpeak: readonly boolean[]): SegmentMean | null {
    return nowMs - this.#changePoint.seenMs >= this.#placingMs
      ? null
      : this.#longSegment(Math.max(fromMs, this.#changePoint.beforeMs), this.#startMs, noise, maySpeak);
  }

  /** The segment up to now, from `fromMs` on; null: too little. */
  sinceChange(nowMs: number, fromMs: number, noise: Float64Array, maySpeak: readonly boolean[]): SegmentMean | null {
    return this.#longSegment(Math.max(fromMs, this.#startMs), nowMs, noise, maySpeak);
  }

  #longSegment(fromMs: number, toMs: number, noise: Float64Array, maySpeak: readonly boolean[]): SegmentMean | null {
    if (toMs - fromMs < REFERENCE_MS) return null;
    const long = maySpeak.map(
      (may, gauge) => may && this.#series[gauge]!.spell(fromMs, toMs).count >= REFERENCE_READINGS,
    );
    return this.#segment(
      this.#spell(fromMs, toMs, long),
      noise,
      Math.max(fromMs, toMs - Math.max(...this.#intervalsMs.map(reachMs))),
    );
  }

  /** The last seconds hint at a change that is not sure yet: no time to judge. */
  mayBeChanging(nowMs: number, noise: Float64Array, maySpeak: readonly boolean[]): boolean {
    const splitMs = nowMs - HINT_MS;
    const before = this.#spell(this.#startMs, splitMs, maySpeak);
    const after = this.#spell(splitMs, nowMs, maySpeak);
    const degrees = after.observedGauges.length;
    return (
      Math.max(0, ...before.counts) >= 2 &&
      this.#chiSquare(before, after, noise) > degrees + HINT_SD * Math.sqrt(2 * degrees)
    );
  }

  /** Two-sample chi-square between two spells, over the gauges that both have. */
  #chiSquare(before: Spell, after: Spell, noise: Float64Array): number {
    const full = this.#series.length;
    const { observedGauges } = after;
    const early: number[] = [];
    const late: number[] = [];
    observedGauges.forEach((gauge, at) => {
      const then = before.observedGauges.indexOf(gauge);
      if (then < 0) return;
      early.push(then);
      late.push(at);
    });
    const size = late.length;
    if (size === 0) return 0;
    const spread = new Float64Array(size ** 2);
    const gap = new Float64Array(size);
    for (let row = 0; row < size; row += 1) {
      gap[row] = after.means[late[row]!]! - before.means[early[row]!]!;
      // The factorisation reads the lower triangle only.
      for (let column = 0; column <= row; column += 1) {
        const share =
          1 / independent(Math.max(before.counts[early[row]!]!, before.counts[early[column]!]!)) +
          1 / independent(Math.max(after.counts[late[row]!]!, after.counts[late[column]!]!));
        spread[row * size + column] =
          noise[observedGauges[late[row]!]! * full + observedGauges[late[column]!]!]! * share;
      }
    }
    const white = whiten(cholesky(spread, size), gap);
    return dot(white, white);
  }

  /** Mean of one gauge's residuals since `fromMs`, and of how many; NaN and 0 without any. */
  recent(gauge: number, fromMs: number): { readonly mean: number; readonly count: number } {
    const { sum, count } = this.#series[gauge]!.spell(fromMs, Infinity);
    return { mean: sum / count, count };
  }

  /** Of one gauge, what was filed since `fromMs`. */
  points(gauge: number, fromMs: number): Points {
    return this.#series[gauge]!.points(fromMs);
  }

  /** Mean residuals of (fromMs, toMs], whatever segment that is in. */
  spell(fromMs: number, toMs: number, noise: Float64Array, maySpeak: readonly boolean[]): SegmentMean {
    return this.#segment(this.#spell(fromMs, toMs, maySpeak), noise, fromMs);
  }

  /** The segment begins no earlier than this, and its beginning is sought no more. */
  startNoEarlier(fromMs: number): void {
    this.#startMs = Math.max(this.#startMs, fromMs);
    this.#changePoint = { seenMs: -Infinity, beforeMs: this.#startMs, times: 0 };
  }

  /** Mean residual of the segment up to now, of the gauges that may speak. */
  segment(nowMs: number, noise: Float64Array, maySpeak: readonly boolean[]): SegmentMean {
    return this.#segment(this.#spell(this.#startMs, nowMs, maySpeak), noise, this.#startMs);
  }

  #segment({ observedGauges, means, counts }: Spell, noise: Float64Array, startMs: number): SegmentMean {
    const full = this.#series.length;
    const out = new Float64Array(observedGauges.length ** 2);
    observedGauges.forEach((from, row) =>
      observedGauges.forEach((to, column) => {
        out[row * observedGauges.length + column] =
          noise[from * full + to]! / independent(Math.max(counts[row]!, counts[column]!));
      }),
    );
    return { observedGauges, means: Float64Array.from(means), noise: out, startMs, samples: Math.max(0, ...counts) };
  }

  #spell(fromMs: number, toMs: number, maySpeak: readonly boolean[]): Spell {
    const observedGauges: number[] = [];
    const means: number[] = [];
    const counts: number[] = [];
    this.#series.forEach((series, gauge) => {
      if (!maySpeak[gauge]) return;
      const { sum, count } = series.spell(Math.max(fromMs, toMs - reachMs(this.#intervalsMs[gauge]!)), toMs);
      if (count === 0) return;
      observedGauges.push(gauge);
      means.push(sum / count);
      counts.push(count);
    });
    return { observedGauges, means, counts };
  }
}
