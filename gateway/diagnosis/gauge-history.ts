/**
 * The residual (measured minus expected of a healthy lay) of every gauge over the last minutes, and since when it has
 * been one steady story.
 *
 * A segment starts where the recent mean and the mean before it part by more than noise allows (two-sample chi-square
 * over all gauges at several window lengths), and is cut to a bounded length so that a slow creep is followed.
 * Samples taken while the pump changes speed are not filed: the model is steady.
 */
import { cholesky, dot, whiten } from './gaussian.ts';

export interface Residual {
  readonly atMs: number;
  readonly value: number;
}

/** Judgement: longest memory of one segment, and its stretch for slow gauges. */
const SEGMENT_MS = 60_000;
const RECENT_MS = [2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 18, 22, 26, 30].map((seconds) => seconds * 1_000);
/** Upper 1e-7 point of chi-square is about 44 at 7 and 52 at 11 degrees of freedom (computed from the gamma function). */
const BREAK_PER_DEGREE = 2.3;
const BREAK_FLOOR = 30;
/** A break in the making: the last two seconds off by four standard deviations of chi-square. */
const HINT_MS = 2_000;
const HINT_SD = 4;
/** Judgement: growth shows over four such. */
const QUARTER_MS = 8_000;
const QUARTER_READINGS = 5;
/** Judgement: neighbouring residuals are not quite independent (pump ripple, offset walk). */
const INDEPENDENT_SHARE = 0.7;

export interface SegmentMean {
  /** Gauge indices that have samples in the segment. */
  readonly kept: readonly number[];
  readonly means: Float64Array;
  /** Noise covariance of the means. */
  readonly noise: Float64Array;
  readonly startMs: number;
  readonly samples: number;
}

export class GaugeHistory {
  readonly #intervalsMs: readonly number[];
  readonly #residuals: Residual[][];
  #startMs = 0;

  constructor(intervalsS: readonly number[]) {
    this.#intervalsMs = intervalsS.map((interval) => interval * 1_000);
    this.#residuals = intervalsS.map(() => []);
  }

  get startMs(): number {
    return this.#startMs;
  }

  file(gauge: number, atMs: number, value: number): void {
    const list = this.#residuals[gauge]!;
    list.push({ atMs, value });
    if (list.length > 1_200) list.splice(0, 400);
  }

  /** Forgets everything: after a stop, a fill, a baseline or a gate moved by order. */
  restart(nowMs: number): void {
    this.#startMs = nowMs;
    for (const list of this.#residuals) list.length = 0;
  }

  /** Looks for the likeliest break and, if it is beyond chance, moves the segment's start to it. */
  settle(nowMs: number, noise: Float64Array, maySpeak: readonly boolean[]): void {
    let most = BREAK_FLOOR + BREAK_PER_DEGREE * maySpeak.filter(Boolean).length;
    let breakMs = this.#startMs;
    for (const recentMs of RECENT_MS) {
      const splitMs = nowMs - recentMs;
      if (splitMs - this.#startMs < 3_000) continue;
      const parted = this.#parted(this.#means(this.#startMs, splitMs, noise, maySpeak), this.#means(splitMs, nowMs, noise, maySpeak));
      if (parted > most) {
        most = parted;
        breakMs = splitMs;
      }
    }
    this.#startMs = breakMs;
  }

  /** The last seconds hint at a break that is not sure yet: no time to judge. */
  unsettled(nowMs: number, noise: Float64Array, maySpeak: readonly boolean[]): boolean {
    const splitMs = nowMs - HINT_MS;
    const before = this.#means(this.#startMs, splitMs, noise, maySpeak);
    const after = this.#means(splitMs, nowMs, noise, maySpeak);
    return before.samples >= 2 && this.#parted(before, after) > after.kept.length + HINT_SD * Math.sqrt(2 * after.kept.length);
  }

  /** Two-sample chi-square between two spells, over the gauges that both have. */
  #parted(before: SegmentMean, after: SegmentMean): number {
    const both = after.kept.filter((gauge) => before.kept.includes(gauge));
    if (both.length === 0) return 0;
    const gap = both.map((gauge) => after.means[after.kept.indexOf(gauge)]! - before.means[before.kept.indexOf(gauge)]!);
    const spread = new Float64Array(both.length ** 2);
    for (const mean of [before, after]) {
      both.forEach((from, row) => both.forEach((to, column) => {
        spread[row * both.length + column]! += mean.noise[mean.kept.indexOf(from) * mean.kept.length + mean.kept.indexOf(to)]!;
      }));
    }
    const white = whiten(cholesky(spread, both.length), gap);
    return dot(white, white);
  }

  /** Mean of one gauge's residuals since `fromMs`, and of how many; NaN and 0 without any. */
  recent(gauge: number, fromMs: number): { readonly mean: number; readonly count: number } {
    const values = this.#residuals[gauge]!.filter((residual) => residual.atMs > fromMs).map((residual) => residual.value);
    return { mean: values.reduce((sum, value) => sum + value, 0) / values.length, count: values.length };
  }

  /** Whether a gauge's residual has fallen from each quarter of the last seconds to the next: a step falls in two of them at most. */
  sinks(gauge: number, nowMs: number): boolean {
    const quarters = [3, 2, 1, 0].map((back) => this.#residuals[gauge]!.filter(({ atMs }) => atMs <= nowMs - back * QUARTER_MS && atMs > nowMs - (back + 1) * QUARTER_MS).map(({ value }) => value));
    if (quarters.some(({ length }) => length < QUARTER_READINGS)) return false;
    const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
    const jitter = mean(quarters.flatMap((values) => values.slice(1).map((value, index) => (value - values[index]!) ** 2 / 2)));
    return quarters.slice(1).every((values, index) => mean(quarters[index]!) - mean(values) > 3 * Math.sqrt((2 * jitter) / QUARTER_READINGS));
  }

  /** Mean residual of the segment up to now, of the gauges that may speak. */
  segment(nowMs: number, noise: Float64Array, maySpeak: readonly boolean[]): SegmentMean {
    return this.#means(this.#startMs, nowMs, noise, maySpeak);
  }

  #means(fromMs: number, toMs: number, noise: Float64Array, maySpeak: readonly boolean[]): SegmentMean {
    const kept: number[] = [];
    const means: number[] = [];
    const counts: number[] = [];
    this.#residuals.forEach((list, gauge) => {
      if (!maySpeak[gauge]) return;
      const windowMs = Math.max(fromMs, toMs - Math.max(SEGMENT_MS, 4 * this.#intervalsMs[gauge]!));
      let sum = 0;
      let count = 0;
      for (let i = list.length - 1; i >= 0 && list[i]!.atMs > windowMs; i -= 1) {
        if (list[i]!.atMs > toMs) continue;
        sum += list[i]!.value;
        count += 1;
      }
      if (count === 0) return;
      kept.push(gauge);
      means.push(sum / count);
      counts.push(count);
    });
    const full = this.#residuals.length;
    const out = new Float64Array(kept.length ** 2);
    kept.forEach((from, row) => kept.forEach((to, column) => {
      const shared = Math.max(counts[row]!, counts[column]!);
      const independent = 1 + (shared - 1) * INDEPENDENT_SHARE;
      out[row * kept.length + column] = noise[from * full + to]! / independent;
    }));
    return { kept, means: Float64Array.from(means), noise: out, startMs: fromMs, samples: Math.max(0, ...counts) };
  }
}
