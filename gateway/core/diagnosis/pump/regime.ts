/**
 * What one pump is doing, told from its own sensors: stopped, starting (filling the lay), running, dead-headed.
 *
 * In: speed, discharge pressure, flow, one frame a second (SI; null unknown). Out: the state and since when; whether it
 * turns without making pressure; how its speed moves (speed-watch.ts).
 */
import type { PumpState } from '../../../../config/wire/wire.ts';
import { DeadHead } from './dead-head.ts';
import type { Outlet } from './outlet.ts';
import { LONGEST_GAP_MS, SpeedWatch, type Sag, type SpeedStep } from './speed-watch.ts';

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

export class PumpRegime {
  readonly deadHead = new DeadHead();
  readonly #speed = new SpeedWatch();
  #state: PumpState = 'unknown';
  #stateSinceMs = 0;
  #hasRun = false;
  #dryRunningMs: number | null = null;
  /** Last seen running; null: stopped since. */
  #ranMs: number | null = null;

  get state(): PumpState {
    return this.#state;
  }

  get stateSinceMs(): number {
    return this.#stateSinceMs;
  }

  /** It ran before it stopped: a stop that people will want to know about. */
  get hasRun(): boolean {
    return this.#hasRun;
  }

  /** Since when it turns but makes no pressure; null: it does not. */
  get dryRunningMs(): number | null {
    return this.#dryRunningMs;
  }

  /** Since when it looks shut in, a dead-head in the making; null: it does not. */
  get pinchedMs(): number | null {
    return this.deadHead.sinceMs;
  }

  /** Sagging: how far below the speed that was last set, since when. */
  get sag(): Sag | null {
    return this.#speed.sag;
  }

  /** For one frame when the throttle moved in one step, or while the pump was not heard. */
  get step(): SpeedStep | null {
    return this.#speed.step;
  }

  observe(frame: PumpFrame): void {
    const before = this.#state;
    this.#state = this.#judge(frame);
    if (this.#state === 'running' || this.#state === 'dead-head') this.#ranMs = frame.atMs;
    if (this.#state === 'stopped') this.#ranMs = null;
    if (this.#state !== before) this.#stateSinceMs = frame.atMs;
    if (this.#state === 'running' || this.#state === 'dead-head') this.#hasRun = true;
    this.#speed.startFrame();
    if (this.#state === 'stopped') this.#speed.forget();
    else if (frame.speedRatio !== null && frame.speedMs !== null)
      this.#speed.observe(frame.speedMs, frame.speedRatio, frame.speedEveryMs);
  }

  /** The lay was drained: that the pump stands still is as it should be. */
  drained(): void {
    this.#hasRun = false;
  }

  /** Called by the watch when the lay has come up to pressure. */
  filled(atMs: number): void {
    if (this.#state !== 'starting') return;
    this.#state = 'running';
    this.#stateSinceMs = atMs;
    this.#hasRun = true;
  }

  #judge(frame: PumpFrame): PumpState {
    const { speedRatio, dischargePa } = frame;
    const pressed = dischargePa !== null && dischargePa > Math.max(DRY_PA, DRY_SHARE * (frame.shutOffPa ?? 0));
    const turning = speedRatio === null ? pressed || dischargePa === null : speedRatio > TURNING_RATIO;
    const ranBefore = this.#ranMs !== null && frame.atMs - this.#ranMs < LONGEST_GAP_MS;
    const full = this.#state === 'running' || this.#state === 'dead-head' || (this.#state === 'unknown' && ranBefore);
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
    const dry = turning && !pressed && this.#hasRun && trickles();
    this.#dryRunningMs = dry ? (this.#dryRunningMs ?? frame.atMs) : null;
  }
}

function mayBurst(outlet: Outlet): boolean {
  const { givesM3s, burstM3s } = outlet.balance();
  return BURST_TIMES * burstM3s >= givesM3s;
}
