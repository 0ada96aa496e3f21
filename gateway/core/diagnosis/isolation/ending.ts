/**
 * Whether a trouble that stands is ending: the residuals shrink along the shift that it made.
 *
 * A repair takes seconds, and the lay comes to rest some seconds after it. In between it looks like other, smaller
 * troubles, so nothing is judged then, and what was told stays. In: mean residuals (SI) of the last judgement, and
 * each second the newest. Out: the phase. 'stands'; 'recedes': it shrinks and moves; 'rests': gauges hold still at
 * what is left, which is judged on readings from `restMs` on. Limits: of two troubles where one grows by what the
 * other loses, nothing is seen; a smaller second trouble is told late.
 */
import { keyOf } from '../causes/hypothesis.ts';
import type { Finding } from './finding.ts';
import type { GaugeHistory, SegmentMean } from '../residuals/gauge-history.ts';
import type { ResidualEvidence } from '../residuals/residual-evidence.ts';
import { cholesky, dot, whiten, type Cholesky } from '../../statistics/gaussian.ts';

export type Phase = 'stands' | 'recedes' | 'rests';

/** What stood when it was judged last, by observed gauge. */
interface Stood extends Pick<ResidualEvidence, 'observedGauges' | 'residual' | 'referenceOffset'> {
  readonly startMs: number;
  /** What each trouble makes of it by itself, where there are several. */
  readonly shifts: readonly Float64Array[];
}

/**
 * Judgement: spells over which the newest are taken, longer where gauges are heard seldom; the shorter also tells
 * whether they still move.
 */
const RECENT_MS = 3_000;
const LATELY_MS = 8_000;
const RECENT_INTERVALS = 1.5;
const LATELY_INTERVALS = 2.5;
/** Judgement: so much of it has gone at the least, by so many standard deviations, and more than came besides. */
const LEAST_GONE = 0.15;
const GONE_SD = 4;
/** The same of a segment's mean, which keeps words but holds no judgement up. */
const LEAST_WEAKER = 0.05;
const WEAKER_SD = 1.2;
const WANES_MS = 15_000;
const WANES_SD = 2;
/** Judgement: what a trouble left behind may be held against it for so long after it was over. */
const PAST_MS = 300_000;
/** Judgement: what swings further through than this was another trouble the other way. */
const MOST_GONE = 1.4;
/** Judgement: gauges rest when they move by less than this share of what stood, or by no more than noise. */
const RESTS_SHARE = 0.04;
const RESTS_SD = 3;
const REST_FRAMES = 2;
/** Judgement: what moves on for longer is judged as it is. */
const LONGEST_MS = 60_000;
/** Judgement: a segment of this age is sure of what stands. */
const SURE_MS = 6_000;
/** Judgement: what is named anew while a trouble ends must last so long at rest; the words of what is left as long. */
const COMES_MS = 12_000;
const SETTLED_MS = 30_000;
/** Judgement: slow waves that no noise figure has, as a share of one reading's variance. */
const WAVES = 0.1;

export class Ending {
  #phase: Phase = 'stands';
  #restMs = 0;
  #stood: Stood | null = null;
  #past: { readonly stood: Stood; readonly atMs: number } | null = null;
  #still = 0;
  /** Since when it recedes. */
  #recedesMs = 0;
  /** Means with which it came to rest. */
  #rested: SegmentMean | null = null;
  /** The newest readings hint that it recedes. */
  #wanes = false;
  /** Since when judgements found less of it; null: they do not. */
  #weakMs: number | null = null;

  /** While it rests: since when. */
  get restMs(): number {
    return this.#restMs;
  }

  /** Nothing stands any more. */
  over(atMs: number): void {
    if (this.#stood) this.#past = { stood: this.#stood, atMs };
    this.#reset();
  }

  /** What is normal has changed. */
  clear(): void {
    this.#past = null;
    this.#reset();
  }

  #reset(): void {
    this.#stood = null;
    this.#phase = 'stands';
    this.#still = 0;
    this.#rested = null;
    this.#wanes = false;
    this.#weakMs = null;
  }

  /** A judgement named what stands; only a segment that has lasted is sure of it. */
  stands(
    { observedGauges, residual, referenceOffset }: Omit<Stood, 'startMs' | 'shifts'>,
    { startMs }: SegmentMean,
    shifts: Stood['shifts'],
    atMs: number,
  ): void {
    if (atMs - startMs < SURE_MS) return;
    this.#reset();
    this.#stood = { startMs, observedGauges, residual, referenceOffset, shifts };
  }

  /** One frame, after its residuals were filed. `noise`: covariance of one reading of every gauge. */
  observe(history: GaugeHistory, atMs: number, noise: Float64Array, trusted: readonly boolean[]): Phase {
    const stood = this.#stood;
    if (!stood) return this.#phase;
    const recentMs = Math.max(RECENT_MS, RECENT_INTERVALS * history.slowestMs);
    const latelyMs = Math.max(LATELY_MS, LATELY_INTERVALS * history.slowestMs);
    const spells = [recentMs, latelyMs].map((spellMs) => history.spell(atMs - spellMs, atMs, noise, trusted));
    const now = spells[0]!;
    if (now.observedGauges.length === 0) return this.#phase;
    this.#wanes = [...spells, history.spell(atMs - Math.max(WANES_MS, latelyMs), atMs, noise, trusted)].some(
      (spell) => goneOf(stood, spell, noise, LEAST_GONE, WANES_SD) !== null,
    );
    if (spells.every((spell) => goneOf(stood, spell, noise, LEAST_GONE, GONE_SD) === null)) {
      this.#phase = 'stands';
      this.#still = 0;
      this.#rested = null;
      return this.#phase;
    }
    const before = history.spell(atMs - 2 * recentMs, atMs - recentMs, noise, trusted);
    const still = restsAt(stood, before, now, noise) && (!this.#rested || restsAt(stood, this.#rested, now, noise));
    this.#still = still ? this.#still + 1 : 0;
    if (this.#phase === 'stands') this.#recedesMs = atMs;
    if (this.#still < REST_FRAMES && atMs < this.#recedesMs + Math.max(LONGEST_MS, 2 * latelyMs)) {
      this.#phase = 'recedes';
      this.#rested = null;
    } else if (this.#phase !== 'rests') {
      this.#phase = 'rests';
      this.#restMs = atMs - 2 * recentMs;
      this.#rested = before;
    }
    return this.#phase;
  }

  /** What is named while gauges have hardly come to rest may be what a lay does on its way back. */
  withholds(named: readonly Finding[], told: readonly Finding[], atMs: number): boolean {
    return (
      this.#phase === 'rests' &&
      atMs < this.#restMs + COMES_MS &&
      named.some((one) => told.every((other) => nameOf(other) !== nameOf(one)))
    );
  }

  /**
   * Whether there is less of what stood, and has not been for long: no time for other words. What a segment tells of
   * itself as it lasts is no end, unless its newest readings are less.
   */
  isWeaker(segment: SegmentMean, noise: Float64Array, atMs: number): boolean {
    const stood = this.#stood;
    if (!stood) return false;
    if (this.#phase === 'rests') return atMs < this.#restMs + SETTLED_MS;
    const other = segment.startMs !== stood.startMs;
    const weak = this.#wanes || (other && goneOf(stood, segment, noise, LEAST_WEAKER, WEAKER_SD) !== null);
    this.#weakMs = weak ? (this.#weakMs ?? atMs) : null;
    return this.#weakMs !== null && atMs < this.#weakMs + SETTLED_MS;
  }

  /**
   * Whether what is found lies the other way round from what stood, or stood not long ago, on the same gauges: then
   * what passed for right had a part of it, because it grew.
   */
  isOpposite(
    { observedGauges, residual, covariance }: Pick<ResidualEvidence, 'observedGauges' | 'residual' | 'covariance'>,
    atMs: number,
  ): boolean {
    const stood = this.#stood ?? (this.#past && atMs < this.#past.atMs + PAST_MS ? this.#past.stood : null);
    if (!stood) return false;
    const rows = observedGauges.flatMap((gauge, now) => {
      const then = stood.observedGauges.indexOf(gauge);
      return then < 0 ? [] : [{ now, then }];
    });
    const sds = rows.map(({ now }) => Math.sqrt(covariance[now * observedGauges.length + now]!));
    const found = rows.map(({ now }, row) => residual[now]! / sds[row]!);
    const before = rows.map(({ then }, row) => stood.residual[then]! / sds[row]!);
    const along = dot(found, before);
    const shared = along ** 2 / dot(before, before);
    return along < 0 && beyondNoise(dot(found, found) - shared, rows.length) < shared;
  }
}

const nameOf = ({ cause, subject }: Finding): string => keyOf(cause, subject);

/** Largest share of what stood, or of one trouble in it, that is gone; null: none plainly is. */
function goneOf(stood: Stood, spell: SegmentMean, noise: Float64Array, least: number, sd: number): number | null {
  const both = spell.observedGauges.flatMap((gauge, now) => {
    const then = stood.observedGauges.indexOf(gauge);
    return then < 0 ? [] : [{ then, now, gauge }];
  });
  if (both.length === 0) return null;
  const factor = factorOf(
    both,
    noise,
    (row, column) => spell.noise[row.now * spell.observedGauges.length + column.now]!,
  );
  const white = (values: (row: (typeof both)[number]) => number): Float64Array => whiten(factor, both.map(values));
  const change = white(({ then, now }) => stood.residual[then]! - (spell.means[now]! - stood.referenceOffset[then]!));
  let largest: number | null = null;
  for (const shift of [stood.residual, ...stood.shifts]) {
    const along = white(({ then }) => shift[then]!);
    const length = dot(along, along);
    const gone = dot(along, change) / length;
    const besides = beyondNoise(dot(change, change) - gone ** 2 * length, both.length - 1);
    const plainly = gone >= least && gone <= MOST_GONE && gone ** 2 * length >= sd ** 2;
    if (plainly && besides < gone ** 2 * length) largest = Math.max(largest ?? 0, gone);
  }
  return largest;
}

/** Whether two spells that follow one another read the same. */
function restsAt(stood: Stood, before: SegmentMean, now: SegmentMean, noise: Float64Array): boolean {
  const both = now.observedGauges.flatMap((gauge, late) => {
    const [early, then] = [before.observedGauges.indexOf(gauge), stood.observedGauges.indexOf(gauge)];
    return early < 0 || then < 0 ? [] : [{ early, late, then, gauge }];
  });
  if (both.length === 0) return false;
  const factor = factorOf(
    both,
    noise,
    (row, column) =>
      now.noise[row.late * now.observedGauges.length + column.late]! +
      before.noise[row.early * before.observedGauges.length + column.early]!,
  );
  const moved = whiten(
    factor,
    both.map(({ early, late }) => now.means[late]! - before.means[early]!),
  );
  const whole = whiten(
    factor,
    both.map(({ then }) => stood.residual[then]!),
  );
  return beyondNoise(dot(moved, moved), both.length) <= RESTS_SHARE ** 2 * dot(whole, whole);
}

/** What a sum of so many squares has beyond what noise makes of it. */
function beyondNoise(squares: number, degrees: number): number {
  return Math.max(0, squares - degrees - RESTS_SD * Math.sqrt(2 * degrees));
}

function factorOf<Row extends { readonly gauge: number }>(
  rows: readonly Row[],
  noise: Float64Array,
  covarianceOf: (row: Row, column: Row) => number,
): Cholesky {
  const gauges = Math.sqrt(noise.length);
  const out = new Float64Array(rows.length ** 2);
  rows.forEach((row, at) => {
    rows.forEach((column, to) => {
      out[at * rows.length + to] = covarianceOf(row, column);
    });
    out[at * rows.length + at]! += WAVES * noise[row.gauge * gauges + row.gauge]!;
  });
  return cholesky(out, rows.length);
}
