/**
 * Whether the speed of one pump was set, or sagged by itself.
 *
 * In: readings of its speed over rated speed, with their time of measurement and how often they come. Out: a step, for
 * the frame in which it is seen, or a sag that lasts. A throttle moved by hand is a step of a few seconds and then
 * steady; an engine that fades slides. Limit: an engine that loses speed in one step looks like a hand on the throttle;
 * it is noted, not alarmed.
 */
import { mean } from '../../statistics/gaussian.ts';
import { leastMisfit, type Share } from '../residuals/shape.ts';

/**
 * Judgements, from how these pumps are run (common practice, no source): a speed has left what was set beyond the first
 * of these, and sags beyond the second.
 */
const LEFT_SHARE = 0.012;
const SAG_SHARE = 0.025;
const DECIDE_MS = 5_000;
const DECIDE_READINGS = 5;
/**
 * Of a move, the share that is done so long after its start: a hand takes up to six seconds, an engine follows with a
 * lag of two; what is still on its way after nine slides.
 */
const HAND_MS = 6_000;
const HANDS: readonly Share[] = [
  (ms) => Math.min(1, ms / 500),
  (ms) => Math.min(1, ms / 3_000),
  (ms) => Math.min(1, ms / HAND_MS),
  (ms) => 1 - Math.exp(-ms / 2_000),
];
const SLIDE_MS = 9_000;
/** The shape is clear where it fits better than the other by so many standard deviations, looked at over so long. */
const CLEAR_SD = 4;
const SHAPE_MS = 40_000;
const BEFORE_MS = 10_000;
/** While it sags, a hand shows by this share of the speed, between means of three seconds. */
const HAND_SHARE = 0.04;
const MEAN_MS = 3_000;
const STEADY_SPREAD = 0.02;
/** Judgement: after so long without a reading of its speed nobody knows how it moved. */
const LOST_MS = 30_000;
/** Judgement: in a longer gap it may have stopped, drained and been started again. */
export const LONGEST_GAP_MS = 900_000;
const SPEED_HISTORY_MS = 180_000;
const RECENT_MS = 6_000;
const RECENT_READINGS = 4;

/** The same windows for a speed that is read every `everyMs`: never shorter than so many of its intervals. */
function windowsOf(
  everyMs: number,
): Readonly<
  Record<'recentMs' | 'decideMs' | 'shapeMs' | 'beforeMs' | 'historyMs' | 'meanMs' | 'handMs' | 'lostMs', number>
> {
  const least = (ms: number, intervals: number): number => Math.max(ms, intervals * everyMs);
  return {
    recentMs: least(RECENT_MS, RECENT_READINGS + 0.5),
    decideMs: least(DECIDE_MS, RECENT_READINGS),
    shapeMs: least(SHAPE_MS, 12),
    beforeMs: least(BEFORE_MS, 4),
    historyMs: least(SPEED_HISTORY_MS, 40),
    meanMs: least(MEAN_MS, 1.5),
    handMs: least(HAND_MS, 2),
    lostMs: least(LOST_MS, 3.5),
  };
}

interface Speed {
  readonly atMs: number;
  readonly ratio: number;
}

/** How far below the speed that was last set, since when. */
export interface Sag {
  readonly sinceMs: number;
  readonly share: number;
}

/** `unheard`: it moved while the pump was not heard. */
export interface SpeedStep {
  readonly fromRatio: number;
  readonly toRatio: number;
  readonly unheard: boolean;
}

export class SpeedWatch {
  #sag: Sag | null = null;
  #step: SpeedStep | null = null;
  #speeds: Speed[] = [];
  #windows = windowsOf(0);
  #setRatio: number | null = null;
  #leftMs = 0;
  /** A hand was seen while it sagged. */
  #hand = false;
  /** Not heard for long, and not yet steady since: whether it was sliding when last heard; null: heard. */
  #lost: { readonly sliding: boolean } | null = null;

  get sag(): Sag | null {
    return this.#sag;
  }

  get step(): SpeedStep | null {
    return this.#step;
  }

  /** A step is told in its own frame only. */
  startFrame(): void {
    this.#step = null;
  }

  /** It has stopped. */
  forget(): void {
    this.#speeds = [];
    this.#setRatio = null;
    this.#sag = null;
    this.#lost = null;
  }

  /** A reading of the speed, over rated speed; one that was seen already is passed over. */
  observe(atMs: number, ratio: number, everyMs: number): void {
    if (atMs <= (this.#speeds.at(-1)?.atMs ?? -Infinity)) return;
    this.#windows = windowsOf(everyMs);
    const { historyMs, recentMs, decideMs } = this.#windows;
    this.#watchGap(atMs);
    this.#speeds.push({ atMs, ratio });
    while (this.#speeds[0]!.atMs < atMs - historyMs) this.#speeds.shift();
    const recent = this.#speeds.filter((speed) => speed.atMs > atMs - recentMs).map((speed) => speed.ratio);
    if (recent.length < RECENT_READINGS) return;
    const now = recent.reduce((sum, value) => sum + value, 0) / recent.length;
    const steady = Math.max(...recent) - Math.min(...recent) < STEADY_SPREAD * now;
    const set = this.#setRatio;
    if (set === null) {
      if (steady) this.#setRatio = now;
      return;
    }
    const drop = (set - now) / set;
    if (Math.abs(drop) < LEFT_SHARE) {
      this.#leftMs = atMs;
      this.#sag = null;
      this.#lost = null;
      return;
    }
    if (this.#lost) return this.#settleLost(set, now, steady);
    if (
      atMs - this.#leftMs < decideMs ||
      this.#speeds.filter((speed) => speed.atMs > this.#leftMs).length < DECIDE_READINGS
    )
      return;
    const shape = this.#sag ? this.#shapeOfSag(atMs) : this.#shape(atMs);
    if (shape === 'slide' && drop > SAG_SHARE) this.#sag = { sinceMs: this.#sag?.sinceMs ?? this.#leftMs, share: drop };
    if (shape !== 'step' || !steady) return;
    this.#sag = null;
    this.#setRatio = now;
    this.#step = { fromRatio: set, toRatio: now, unheard: false };
  }

  #watchGap(atMs: number): void {
    const gapMs = atMs - (this.#speeds.at(-1)?.atMs ?? atMs);
    if (gapMs > LONGEST_GAP_MS) this.forget();
    if (gapMs < this.#windows.lostMs || this.#setRatio === null) return;
    this.#lost = { sliding: this.#sag !== null || this.#shape(this.#speeds.at(-1)!.atMs) === 'slide' };
    this.#speeds = [];
  }

  /**
   * What moved while nothing was heard: a hand has been there, unless it was sliding already when it was last heard.
   */
  #settleLost(set: number, now: number, steady: boolean): void {
    if (this.#lost!.sliding && set - now > SAG_SHARE * set) {
      this.#sag = { sinceMs: this.#sag?.sinceMs ?? this.#leftMs, share: (set - now) / set };
      this.#lost = null;
    } else if (steady) {
      this.#step = { fromRatio: set, toRatio: now, unheard: true };
      this.#sag = null;
      this.#setRatio = now;
      this.#lost = null;
    }
  }

  /** Null: not clear yet. */
  #shape(atMs: number): 'step' | 'slide' | null {
    this.#hand = false;
    const { beforeMs, shapeMs } = this.#windows;
    const speeds = this.#speeds.filter((speed) => speed.atMs >= Math.max(this.#leftMs - beforeMs, atMs - shapeMs));
    const firstMs = speeds[0]!.atMs;
    const starts = Array.from(
      { length: Math.floor((atMs - firstMs) / 1_000) },
      (_, second) => firstMs + 1_000 * second,
    );
    const points = { timesMs: speeds.map((speed) => speed.atMs), values: speeds.map(({ ratio }) => ratio) };
    const step = leastMisfit(points, starts, HANDS);
    const slide = leastMisfit(
      points,
      starts.filter((fromMs) => fromMs <= atMs - SLIDE_MS),
      [(ms) => ms],
    );
    const clear = (CLEAR_SD ** 2 * Math.min(step, slide)) / speeds.length;
    return step - slide > clear ? 'slide' : slide - step > clear ? 'step' : null;
  }

  /** It sags until a hand is seen: standing still at less is no repair. */
  #shapeOfSag(atMs: number): 'step' | 'slide' {
    const { meanMs, handMs } = this.#windows;
    const speed = (toMs: number): number =>
      mean(this.#speeds.flatMap((one) => (one.atMs > toMs - meanMs && one.atMs <= toMs ? [one.ratio] : [])));
    if (Math.abs(speed(atMs) / speed(atMs - handMs) - 1) > HAND_SHARE) this.#hand = true;
    return this.#hand ? 'step' : 'slide';
  }
}
