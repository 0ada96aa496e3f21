/**
 * Slow creep that no cause is named for yet: the means of a minute of every gauge's residual, against those of the
 * first minutes after it was last known to be right, by cumulative sums.
 *
 * In: residuals (measured minus expected, SI) while the lay runs steadily and nothing is found. Out: gauges that have
 * crept, which way and since when. With 20 gauges a false word comes once in some 17 days of running, if the means of
 * minutes are independent and spread as told: a standard deviation is never taken as less than a two-hundredth of what
 * is expected, so that noise is well below it. Limit: gauges do creep by themselves, with the day's warmth too.
 */
import { Cusum, type Crept } from '../../statistics/cusum.ts';
import type { Residual } from './time-aligned-residuals.ts';

const BLOCK_MS = 60_000;
const BLOCK_INTERVALS = 4;
const REFERENCE_BLOCKS = 10;
const LEAST_SHARE = 0.005;
/** Judgement: creep is followed within so much of one discharge pressure. */
const PRESSURE_SHARE = 0.03;
export const SLACK = 0.5;
/** One-sided run length 1,000,000 means without a shift: 20 gauges, both ways, once in 17 days. */
export const LIMIT = 11.96;

interface Chart {
  readonly blockMs: number;
  startMs: number;
  sum: number;
  count: number;
  reference: number[];
  mean: number;
  sd: number;
  cusum: Cusum;
  crept: (Crept & { readonly sinceMs: number }) | null;
}

export interface Creeping {
  readonly gauge: number;
  readonly way: 'up' | 'down';
  readonly sinceMs: number;
}

export class Creep {
  readonly #charts: Chart[];
  /** Discharge pressures at which what is right was learned; null: not yet. */
  #learnedPa: Float64Array | null = null;

  constructor(intervalsS: readonly number[]) {
    this.#charts = intervalsS.map((intervalS) => fresh(Math.max(BLOCK_MS, BLOCK_INTERVALS * 1_000 * intervalS)));
  }

  /** What is right is to be learned afresh, from the next frame on. */
  relearn(): void {
    this.#learnedPa = null;
  }

  /** One frame. What is `explained` does not creep; at another throttle the model's own error would look like it. */
  observe(
    atMs: number,
    dischargePa: Float64Array,
    residuals: readonly Residual[],
    expected: Float64Array,
    explained: boolean,
  ): void {
    const moved =
      this.#learnedPa?.some((pressure, pump) => Math.abs(dischargePa[pump]! / pressure - 1) > PRESSURE_SHARE) ?? true;
    if (moved) {
      this.restart();
      this.#learnedPa = dischargePa.slice();
    }
    if (explained) return;
    for (const { gauge, value } of residuals) this.file(gauge, atMs, value, expected[gauge]!);
  }

  /** What is right is learned afresh. */
  restart(): void {
    this.#charts.forEach(({ blockMs }, gauge) => {
      this.#charts[gauge] = fresh(blockMs);
    });
  }

  file(gauge: number, atMs: number, residual: number, expected: number): void {
    const chart = this.#charts[gauge]!;
    if (chart.count > 0 && atMs - chart.startMs >= chart.blockMs) this.#close(chart, expected);
    if (chart.count === 0) chart.startMs = atMs;
    chart.sum += residual;
    chart.count += 1;
  }

  get creeping(): Creeping[] {
    return this.#charts.flatMap(({ crept }, gauge) =>
      crept ? [{ gauge, way: crept.way, sinceMs: crept.sinceMs }] : [],
    );
  }

  #close(chart: Chart, expected: number): void {
    const value = chart.sum / chart.count;
    chart.sum = 0;
    chart.count = 0;
    if (chart.reference.length < REFERENCE_BLOCKS) {
      chart.reference.push(value);
      const { length } = chart.reference;
      chart.mean = chart.reference.reduce((sum, one) => sum + one, 0) / length;
      const spread = Math.sqrt(
        chart.reference.reduce((sum, one) => sum + (one - chart.mean) ** 2, 0) / Math.max(1, length - 1),
      );
      chart.sd = Math.max(spread, LEAST_SHARE * Math.abs(expected));
      return;
    }
    const crept = chart.cusum.take((value - chart.mean) / chart.sd);
    if (crept && !chart.crept) chart.crept = { ...crept, sinceMs: chart.startMs - (crept.length - 1) * chart.blockMs };
    else if (!crept) chart.crept = null;
  }
}

function fresh(blockMs: number): Chart {
  return {
    blockMs,
    startMs: 0,
    sum: 0,
    count: 0,
    reference: [],
    mean: 0,
    sd: 1,
    cusum: new Cusum(SLACK, LIMIT),
    crept: null,
  };
}
