/**
 * One pump with its sensors: regime, findings, what the screen shows of it.
 *
 * In: channels, mode, time. Out: PumpPicture, findings about the pump. Findings are held while the pump cannot be seen:
 * losing data never clears a trouble.
 */
import type { Layout, Pump, Sensor } from '../../../../config/layout/layout.ts';
import type { Mode } from '../../../../config/modes.ts';
import type { Cause, Estimate, PumpPicture } from '../../../../config/wire/wire.ts';
import type { Channel } from '../../telemetry/channel.ts';
import { keyOf } from '../causes/hypothesis.ts';
import type { Finding } from '../isolation/finding.ts';
import { mean } from '../../statistics/gaussian.ts';
import type { Outlet } from './outlet.ts';
import type { PumpSide } from '../model/pump-side.ts';
import { PumpRegime } from './regime.ts';

/** Judgement: warn at three quarters of an hour of fuel, or at twice what a refill takes; clear at a third more. */
const FUEL_LOW_S = 2_700;
const FUEL_LOW_REFILLS = 2;
const FUEL_CLEAR_SHARE = 4 / 3;
const FUEL_EMPTY_SHARE = 0.03;
/** Judgement: of two causes that look the same, the one that is told first. */
const LIKELIER = 0.6;
/**
 * Judgement: a reading was missed if the next took so many intervals; one older than half a minute says nothing of what
 * moved since.
 */
const MISSED_INTERVALS = 1.5;
const HEARD_MS = 30_000;
/**
 * Judgement: still is what moves by less than these shares, beyond noise, in the last two or three seconds; speed
 * against seven before.
 */
const LATE_MS = 2_500;
const EARLY_MS = 7_000;
/** Of a slower channel's own interval: the last reading or two of its speed, two of its pressure, and two before. */
const LATE_INTERVALS = 1.25;
const PAIR_INTERVALS = 2.25;
const SPEED_SHARE = 0.003;
const PRESSURE_SHARE = 0.03;

/** At once a second the last two or three readings. */
const pairMs = (everyMs: number): number => (everyMs > LATE_MS / 2 ? PAIR_INTERVALS * everyMs : LATE_MS);

export interface PumpReadings {
  readonly dischargePa: number | null;
  readonly suctionPa: number | null;
  readonly flowM3s: number | null;
  readonly rotationHz: number | null;
  readonly fuelM3: number | null;
}

/** Throttled: its speed moves, and with it all; falls, rises: its pressure alone. */
export type Motion = 'still' | 'throttled' | 'falls' | 'rises' | 'unheard';

export class PumpWatch {
  readonly pump: Pump;
  readonly regime = new PumpRegime();
  readonly side: PumpSide;
  readings: PumpReadings = { dischargePa: null, suctionPa: null, flowM3s: null, rotationHz: null, fuelM3: null };
  findings: Finding[] = [];
  readonly #channels: Readonly<Record<keyof PumpReadings, Channel | undefined>>;
  #fuelLow = false;
  #stopAsked = false;

  constructor(layout: Layout, pump: Pump, side: PumpSide, channels: ReadonlyMap<string, Channel>) {
    this.pump = pump;
    this.side = side;
    const find = (fits: (sensor: Sensor) => boolean): Channel | undefined => {
      const sensor = layout.sensors.find(
        (candidate) => 'pump' in candidate.mounting && candidate.mounting.pump === pump.id && fits(candidate),
      );
      return sensor && channels.get(sensor.id);
    };
    this.#channels = {
      dischargePa: find((sensor) => sensor.quantity === 'pressure' && sensor.mounting.kind === 'discharge'),
      suctionPa: find((sensor) => sensor.quantity === 'pressure' && sensor.mounting.kind === 'suction'),
      flowM3s: find((sensor) => sensor.quantity === 'flow'),
      rotationHz: find((sensor) => sensor.quantity === 'rotation'),
      fuelM3: find((sensor) => sensor.quantity === 'fuel'),
    };
  }

  get discharge(): Channel | undefined {
    return this.#channels.dischargePa;
  }

  /** When its discharge pressure was measured last. */
  get dischargeMs(): number | null {
    return this.#channels.dischargePa?.latest?.atMs ?? null;
  }

  /** Its discharge pressure, or the lower end of the gauge's range where that has fallen just below it. */
  dischargeAtMostPa(nowMs: number): number | null {
    return this.#channels.dischargePa?.atMost(nowMs) ?? null;
  }

  get speedRatio(): number | null {
    return this.readings.rotationHz === null ? null : this.readings.rotationHz / this.pump.kit.ratedRotationHz;
  }

  /** `mean` of its speed's channel. */
  meanSpeedRatio(mean: (channel: Channel) => number): number | null {
    const channel = this.#channels.rotationHz;
    const hz = channel ? mean(channel) : NaN;
    return Number.isFinite(hz) ? hz / this.pump.kit.ratedRotationHz : null;
  }

  /** `outlet`: what the lay says of it once its readings are known. */
  observe(nowMs: number, mode: Mode | null, outlet: () => Outlet | null): void {
    const read = (name: keyof PumpReadings): number | null => this.#channels[name]?.usable(nowMs) ?? null;
    this.readings = {
      dischargePa: read('dischargePa'),
      suctionPa: read('suctionPa'),
      flowM3s: read('flowM3s'),
      rotationHz: read('rotationHz'),
      fuelM3: read('fuelM3'),
    };
    const ratio = this.speedRatio;
    const shutOff = ratio === null ? null : this.side.rise(0, ratio).risePa + (this.readings.suctionPa ?? 0);
    this.regime.observe({
      atMs: nowMs,
      speedRatio: ratio,
      speedMs: this.#channels.rotationHz?.latest?.atMs ?? null,
      speedEveryMs: this.#channels.rotationHz?.everyMs ?? 0,
      dischargePa: this.#channels.dischargePa?.atLeast(nowMs) ?? null,
      dischargeMs: this.dischargeMs,
      flowM3s: this.readings.flowM3s,
      shutOffPa: shutOff,
      ratedShutOffPa: this.side.rise(0, 1).risePa,
      outlet: outlet(),
      ratedFlowM3s: this.side.ratedFlowM3s,
    });
    if (mode === 'draining') this.regime.drained();
    if (this.regime.state !== 'unknown') {
      this.#stopAsked = mode === 'refuelling';
      this.findings = this.#judge(nowMs, mode);
    } else if (this.#stopAsked) {
      // A stop that was announced and cannot be seen any more: that it is silent is told already.
      this.findings = this.findings.filter(({ cause }) => cause !== 'pump-stop');
    }
  }

  /**
   * Whether the model has what it leans on: of a booster nothing but the layout, of any other pump its discharge
   * pressure.
   */
  get known(): boolean {
    return this.regime.state === 'stopped' || this.pump.inlet !== null || this.readings.dischargePa !== null;
  }

  /** Whether speed and pressure have held still over the last seconds, so that a steady model may speak. */
  motion(nowMs: number): Motion {
    if (this.#turnsOtherwise(nowMs)) return 'throttled';
    // A booster goes by its speed alone: its pressures are for the network to say.
    return this.pump.inlet !== null ? 'still' : this.#pressureMotion(nowMs);
  }

  /**
   * A hand on the throttle shows in the mean speed of the last readings against those before; an open hose does not.
   */
  #turnsOtherwise(nowMs: number): boolean {
    const channel = this.#channels.rotationHz;
    if (!channel) return false;
    const lateMs = Math.max(LATE_MS, LATE_INTERVALS * channel.everyMs);
    const earlyMs = Math.max(EARLY_MS, PAIR_INTERVALS * channel.everyMs);
    const [late, early] = [this.#recent(channel, nowMs, lateMs), this.#recent(channel, nowMs - lateMs, earlyMs)];
    if (late.length === 0 || early.length === 0) return false;
    const sd = channel.sensor.noiseSd * Math.sqrt(1 / late.length + 1 / early.length);
    return Math.abs(mean(late) - mean(early)) > SPEED_SHARE * mean(early) + 3 * sd;
  }

  #pressureMotion(nowMs: number): Motion {
    const channel = this.#channels.dischargePa;
    if (!channel) return 'unheard';
    const values = this.#recent(channel, nowMs, pairMs(channel.everyMs));
    if (Math.max(...values) - Math.min(...values) > PRESSURE_SHARE * Math.max(...values) + 5 * channel.sensor.noiseSd)
      return values.at(-1)! < values[0]! ? 'falls' : 'rises';
    return values.length < 2 || nowMs - channel.latest!.atMs > MISSED_INTERVALS * channel.everyMs ? 'unheard' : 'still';
  }

  /** Readings of a spell. What moves while nothing is heard shows against the last reading before it. */
  #recent(channel: Channel, toMs: number, spanMs: number): number[] {
    const recent = channel.between(toMs - spanMs, toMs);
    const heardMs = Math.max(HEARD_MS, PAIR_INTERVALS * channel.everyMs);
    const before = channel.between(toMs - spanMs - heardMs, toMs - spanMs).at(-1);
    if (before && (recent[0]?.atMs ?? toMs) - before.atMs > MISSED_INTERVALS * channel.everyMs) recent.unshift(before);
    return recent.map(({ value }) => value);
  }

  get stoppedUnasked(): boolean {
    return !this.#stopAsked && this.findings.some((finding) => finding.cause === 'pump-stop');
  }

  #judge(nowMs: number, mode: Mode | null): Finding[] {
    const { regime, pump } = this;
    const out: Finding[] = [];
    // `rival`: what the gauges that are heard cannot tell from it.
    const add = (cause: Cause, sinceMs: number, facts: Finding['facts'] = {}, rival: Cause | null = null): void => {
      out.push({
        key: keyOf(cause, pump.id),
        cause,
        subject: pump.id,
        subjectKind: 'pump',
        places: [{ id: pump.id, probability: 1 }],
        sinceMs,
        probability: rival ? LIKELIER : 0.99,
        sizeM3s: null,
        evidence: [],
        rivals: rival ? [{ cause: rival, subject: pump.id, place: pump.id, probability: 1 - LIKELIER }] : [],
        question: null,
        facts,
      });
    };
    const fuelOut = this.readings.fuelM3 !== null && this.readings.fuelM3 < FUEL_EMPTY_SHARE * pump.fuelCapacityM3;
    if (regime.state === 'stopped' && regime.hasRun && mode !== 'draining')
      add('pump-stop', regime.stateSinceMs, { fuelOut }, this.speedRatio === null ? 'suction-trouble' : null);
    if (regime.state === 'dead-head') {
      const { sinceMs, doubtful } = regime.deadHead;
      add('dead-head', sinceMs ?? regime.stateSinceMs, {}, doubtful ? 'suction-trouble' : null);
    }
    if (regime.dryRunningMs !== null) add('suction-trouble', regime.dryRunningMs);
    if (regime.sag) add('pump-fade', regime.sag.sinceMs, { share: regime.sag.share });
    const left = this.#fuelLeft();
    if (left) {
      const lowS = Math.max(FUEL_LOW_S, FUEL_LOW_REFILLS * pump.refillS);
      this.#fuelLow = left.best < (this.#fuelLow ? FUEL_CLEAR_SHARE * lowS : lowS);
      if (this.#fuelLow && regime.state !== 'stopped') add('fuel-low', nowMs, { leftS: left, refillS: pump.refillS });
    }
    return out;
  }

  /**
   * By the kit's use at rated speed, scaled with the cube of speed (affinity of power); half as much again either way.
   */
  #fuelLeft(): Estimate | null {
    const { fuelM3 } = this.readings;
    const ratio = this.speedRatio;
    if (fuelM3 === null || ratio === null || ratio < 0.1) return null;
    const use = this.pump.kit.fuelUseM3s * Math.max(0.25, Math.min(1.1, ratio) ** 3);
    return { best: fuelM3 / use, low: fuelM3 / use / 1.5, high: (fuelM3 / use) * 1.5 };
  }

  picture(): PumpPicture {
    return { pump: this.pump.id, state: this.regime.state, ...this.readings, fuelLeftS: this.#fuelLeft() };
  }
}
