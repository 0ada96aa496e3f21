/**
 * What one pump is doing, told from its own sensors: stopped, starting (filling the lay), running, dead-headed; and
 * whether its speed was set, or sagged by itself.
 *
 * In: speed, discharge pressure, flow, one frame a second (SI; null unknown). A throttle moved by hand is a step of a
 * few seconds and then steady; an engine that fades slides. Limit: an engine that loses speed in one step looks like a
 * hand on the throttle; it is noted, not alarmed.
 */
import type { PumpState } from '../../config/wire.ts';

export interface PumpFrame {
  readonly atMs: number;
  /** Speed over rated speed. */
  readonly speedRatio: number | null;
  readonly dischargePa: number | null;
  readonly flowM3s: number | null;
  /** Pressure that the pump would hold at this speed with everything shut, Pa; null unknown. */
  readonly shutOffPa: number | null;
  readonly ratedFlowM3s: number;
}

/** Judgements, from how these pumps are run (common practice, no source). */
const TURNING_RATIO = 0.1;
const DRY_PA = 25_000;
const DEAD_HEAD_SHARE = 0.88;
const DEAD_HEAD_FLOW_SHARE = 0.03;
const DEAD_HEAD_MS = 10_000;
const DRY_FLOW_SHARE = 0.08;
const SAG_SHARE = 0.05;
const STEP_MS = 6_000;
const DECIDE_MS = 8_000;
/** A hand moves the throttle most of the way within STEP_MS; a fading engine does not. */
const STEP_SHARE = 0.6;
const STEADY_SPREAD = 0.02;
/** Judgement: in a longer gap it may have stopped, drained and been started again. */
const LONGEST_GAP_MS = 900_000;
const SPEED_HISTORY_MS = 180_000;

interface Speed {
  readonly atMs: number;
  readonly ratio: number;
}

export class PumpRegime {
  state: PumpState = 'unknown';
  stateSinceMs = 0;
  /** Sagging: how far below the speed that was last set, since when. */
  sag: { readonly sinceMs: number; readonly share: number } | null = null;
  /** Set for one frame when the throttle moved in one step. */
  step: { readonly fromRatio: number; readonly toRatio: number } | null = null;
  /** It ran before it stopped: a stop that people will want to know about. */
  hasRun = false;
  /** Since when it turns but makes no pressure; null: it does not. */
  dryRunningMs: number | null = null;
  /** Next to no flow against high pressure: a dead-head in the making. */
  get pinched(): boolean {
    return this.#deadHeadMs !== null;
  }
  #speeds: Speed[] = [];
  #setRatio: number | null = null;
  #leftMs = 0;
  #deadHeadMs: number | null = null;
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
    if (this.state === 'stopped' || this.state === 'unknown') {
      this.#speeds = [];
      this.#setRatio = null;
      this.sag = null;
    } else if (frame.speedRatio !== null) this.#watchSpeed(frame.atMs, frame.speedRatio);
  }

  /** Called by the watch when the lay has come up to pressure. */
  filled(atMs: number): void {
    if (this.state !== 'starting') return;
    this.state = 'running';
    this.stateSinceMs = atMs;
    this.hasRun = true;
  }

  #judge(frame: PumpFrame): PumpState {
    const { speedRatio, dischargePa, flowM3s } = frame;
    if (dischargePa === null && speedRatio === null) return 'unknown';
    const pressed = dischargePa !== null && dischargePa > DRY_PA;
    const turning = speedRatio === null ? pressed : speedRatio > TURNING_RATIO;
    const flowing = flowM3s === null || flowM3s > DEAD_HEAD_FLOW_SHARE * frame.ratedFlowM3s;
    const trickling = flowM3s !== null && flowM3s < DRY_FLOW_SHARE * frame.ratedFlowM3s;
    const dry = turning && dischargePa !== null && !pressed && trickling && this.hasRun;
    this.dryRunningMs = dry ? this.dryRunningMs ?? frame.atMs : null;
    if (!turning) {
      this.#deadHeadMs = null;
      return 'stopped';
    }
    const shut = frame.shutOffPa !== null && dischargePa !== null && pressed && !flowing && dischargePa > DEAD_HEAD_SHARE * frame.shutOffPa;
    this.#deadHeadMs = shut ? this.#deadHeadMs ?? frame.atMs : null;
    if (this.#deadHeadMs !== null && frame.atMs - this.#deadHeadMs >= DEAD_HEAD_MS) return 'dead-head';
    // A gap in the radio is no stop: a pump that ran before it and turns after it has a full lay behind it.
    const ranBefore = this.#ranMs !== null && frame.atMs - this.#ranMs < LONGEST_GAP_MS;
    return this.state === 'running' || this.state === 'dead-head' || (this.state === 'unknown' && ranBefore) ? 'running' : 'starting';
  }

  #watchSpeed(atMs: number, ratio: number): void {
    this.#speeds.push({ atMs, ratio });
    while (this.#speeds[0]!.atMs < atMs - SPEED_HISTORY_MS) this.#speeds.shift();
    const recent = this.#speeds.filter((speed) => speed.atMs > atMs - 6_000).map((speed) => speed.ratio);
    if (recent.length < 4) return;
    const now = recent.reduce((sum, value) => sum + value, 0) / recent.length;
    const steady = Math.max(...recent) - Math.min(...recent) < STEADY_SPREAD * now;
    const set = this.#setRatio;
    if (set === null) {
      if (steady) this.#setRatio = now;
      return;
    }
    const drop = (set - now) / set;
    if (Math.abs(drop) < SAG_SHARE / 2) {
      this.#leftMs = atMs;
      this.sag = null;
      return;
    }
    if (atMs - this.#leftMs < DECIDE_MS) return;
    if (drop > 0 && this.#steepest() < STEP_SHARE * drop * set) {
      if (drop > SAG_SHARE) this.sag = { sinceMs: this.sag?.sinceMs ?? this.#leftMs, share: drop };
    } else if (steady) {
      this.sag = null;
      this.#setRatio = now;
      this.step = { fromRatio: set, toRatio: now };
    }
  }

  /** Largest fall or rise within STEP_MS since the speed left what was set. */
  #steepest(): number {
    const since = this.#speeds.filter((speed) => speed.atMs >= this.#leftMs - STEP_MS);
    let most = 0;
    for (const late of since) {
      for (const early of since) {
        const span = late.atMs - early.atMs;
        if (span > 0 && span <= STEP_MS) most = Math.max(most, Math.abs(late.ratio - early.ratio));
      }
    }
    return most;
  }
}
