/**
 * What one pump is doing, told from its own sensors: stopped, starting (filling the lay), running, dead-headed; and
 * whether its speed was set, or sagged by itself.
 *
 * In: speed, discharge pressure, flow, one frame a second (SI; null unknown). A throttle moved by hand is a step of a
 * few seconds and then steady; an engine that fades slides. Limit: an engine that loses speed in one step looks like a
 * hand on the throttle; it is noted, not alarmed.
 */
import type { PumpState } from '../../../../config/wire/wire.ts';
import { DeadHead } from './dead-head.ts';
import type { Outlet } from './outlet.ts';
import { mean } from '../../statistics/gaussian.ts';
import { leastMisfit, type Share } from '../residuals/shape.ts';

export interface PumpFrame {
  readonly atMs: number;
  /** Speed over rated speed, and when it was measured. */
  readonly speedRatio: number | null;
  readonly speedMs: number | null;
  /** Time between readings of it. */
  readonly speedEveryMs: number;
  /** At the least, where the gauge is past its range; and when it was measured. */
  readonly dischargePa: number | null;
  readonly dischargeMs: number | null;
  readonly flowM3s: number | null;
  /** Pressure that the pump would hold at this speed with everything shut, Pa; null unknown; and at rated speed. */
  readonly shutOffPa: number | null;
  readonly ratedShutOffPa: number;
  /** What the lay says of it; null: nothing. */
  readonly outlet: Outlet | null;
  readonly ratedFlowM3s: number;
}

/** Judgements, from how these pumps are run (common practice, no source). */
const TURNING_RATIO = 0.1;
const DRY_PA = 25_000;
/** Of what it would make against a shut valve: hills that it has filled press back on a pump that is dry. */
const DRY_SHARE = 0.1;
const DRY_FLOW_SHARE = 0.08;
/** An open end at the outlet takes up to so many times what the model says: then it may be a burst that is not dry. */
const BURST_TIMES = 1.35;
/** A speed has left what was set beyond the first of these, and sags beyond the second. */
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
const LONGEST_GAP_MS = 900_000;
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

export class PumpRegime {
  state: PumpState = 'unknown';
  stateSinceMs = 0;
  /** Sagging: how far below the speed that was last set, since when. */
  sag: { readonly sinceMs: number; readonly share: number } | null = null;
  /** Set for one frame when the throttle moved in one step, or while the pump was not heard. */
  step: { readonly fromRatio: number; readonly toRatio: number; readonly unheard: boolean } | null = null;
  /** It ran before it stopped: a stop that people will want to know about. */
  hasRun = false;
  /** Since when it turns but makes no pressure; null: it does not. */
  dryRunningMs: number | null = null;
  readonly deadHead = new DeadHead();
  /** Since when it looks shut in, a dead-head in the making; null: it does not. */
  get pinchedMs(): number | null {
    return this.deadHead.sinceMs;
  }
  #speeds: Speed[] = [];
  #windows = windowsOf(0);
  #setRatio: number | null = null;
  #leftMs = 0;
  /** A hand was seen while it sagged. */
  #hand = false;
  /** Not heard for long, and not yet steady since: whether it was sliding when last heard; null: heard. */
  #lost: { readonly sliding: boolean } | null = null;
  /** Last seen running; null: stopped since. */
  #ranMs: number | null = null;

  observe(frame: PumpFrame): void {
    this.step = null;
    const before = this.state;
    this.state = this.#judge(frame);
    if (this.state === 'running' || this.state === 'dead-head') this.#ranMs = frame.atMs;
    if (this.state === 'stopped') this.#ranMs = null;
    if (this.state !== before) this.stateSinceMs = frame.atMs;
    if (this.state === 'running' || this.state === 'dead-head') this.hasRun = true;
    if (this.state === 'stopped') this.#forget();
    else if (
      frame.speedRatio !== null &&
      frame.speedMs !== null &&
      frame.speedMs > (this.#speeds.at(-1)?.atMs ?? -Infinity)
    )
      this.#watchSpeed(frame.speedMs, frame.speedRatio, frame.speedEveryMs);
  }

  /** Called by the watch when the lay has come up to pressure. */
  filled(atMs: number): void {
    if (this.state !== 'starting') return;
    this.state = 'running';
    this.stateSinceMs = atMs;
    this.hasRun = true;
  }

  #judge(frame: PumpFrame): PumpState {
    const { speedRatio, dischargePa } = frame;
    const pressed = dischargePa !== null && dischargePa > Math.max(DRY_PA, DRY_SHARE * (frame.shutOffPa ?? 0));
    const turning = speedRatio === null ? pressed || dischargePa === null : speedRatio > TURNING_RATIO;
    const ranBefore = this.#ranMs !== null && frame.atMs - this.#ranMs < LONGEST_GAP_MS;
    const full = this.state === 'running' || this.state === 'dead-head' || (this.state === 'unknown' && ranBefore);
    this.#watchDry(frame, turning, pressed, full);
    if (!turning) {
      this.deadHead.clear();
      return 'stopped';
    }
    // By the time of measurement: while an engine runs down, one reading that is repeated for want of a newer proves
    // nothing.
    const heardMs = [speedRatio === null ? null : frame.speedMs, dischargePa === null ? null : frame.dischargeMs];
    const measuredMs = Math.min(...heardMs.map((ms) => ms ?? frame.atMs));
    this.deadHead.observe({ ...frame, measuredMs, pressed, full });
    if (dischargePa === null && speedRatio === null) return 'unknown';
    if (this.deadHead.stands) return 'dead-head';
    // A gap in the radio is no stop: a pump that ran before it and turns after it has a full lay behind it.
    return full ? 'running' : 'starting';
  }

  /** It turns without making pressure. That readings go missing does not end it. */
  #watchDry(frame: PumpFrame, turning: boolean, pressed: boolean, full: boolean): void {
    const { dischargePa, flowM3s, speedRatio, outlet } = frame;
    if (turning && dischargePa === null) return;
    // Without a flow meter: not while the lay may still be filling, nor where a burst at its outlet could be all.
    const empty = (): boolean => speedRatio !== null && full && outlet !== null && !mayBurst(outlet);
    const trickles = (): boolean => (flowM3s === null ? empty() : flowM3s < DRY_FLOW_SHARE * frame.ratedFlowM3s);
    const dry = turning && !pressed && this.hasRun && trickles();
    this.dryRunningMs = dry ? (this.dryRunningMs ?? frame.atMs) : null;
  }

  #forget(): void {
    this.#speeds = [];
    this.#setRatio = null;
    this.sag = null;
    this.#lost = null;
  }

  #watchSpeed(atMs: number, ratio: number, everyMs: number): void {
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
      this.sag = null;
      this.#lost = null;
      return;
    }
    if (this.#lost) return this.#settleLost(set, now, steady);
    if (
      atMs - this.#leftMs < decideMs ||
      this.#speeds.filter((speed) => speed.atMs > this.#leftMs).length < DECIDE_READINGS
    )
      return;
    const shape = this.sag ? this.#shapeOfSag(atMs) : this.#shape(atMs);
    if (shape === 'slide' && drop > SAG_SHARE) this.sag = { sinceMs: this.sag?.sinceMs ?? this.#leftMs, share: drop };
    if (shape !== 'step' || !steady) return;
    this.sag = null;
    this.#setRatio = now;
    this.step = { fromRatio: set, toRatio: now, unheard: false };
  }

  #watchGap(atMs: number): void {
    const gapMs = atMs - (this.#speeds.at(-1)?.atMs ?? atMs);
    if (gapMs > LONGEST_GAP_MS) this.#forget();
    if (gapMs < this.#windows.lostMs || this.#setRatio === null) return;
    this.#lost = { sliding: this.sag !== null || this.#shape(this.#speeds.at(-1)!.atMs) === 'slide' };
    this.#speeds = [];
  }

  /**
   * What moved while nothing was heard: a hand has been there, unless it was sliding already when it was last heard.
   */
  #settleLost(set: number, now: number, steady: boolean): void {
    if (this.#lost!.sliding && set - now > SAG_SHARE * set) {
      this.sag = { sinceMs: this.sag?.sinceMs ?? this.#leftMs, share: (set - now) / set };
      this.#lost = null;
    } else if (steady) {
      this.step = { fromRatio: set, toRatio: now, unheard: true };
      this.sag = null;
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

function mayBurst(outlet: Outlet): boolean {
  const { givesM3s, burstM3s } = outlet.balance();
  return BURST_TIMES * burstM3s >= givesM3s;
}
