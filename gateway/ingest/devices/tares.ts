/**
 * What each pressure gauge reads in open air, taken off all that it says later.
 *
 * In: what gauges said (Pa, before any tare), and a person's word that one of them is open to the air now. Out:
 * corrected readings, or why a tare cannot be: pumps must be stopped, the readings fresh, at rest and near zero. It
 * belongs to the gauge: a swapped one starts without. Limit: a metre of water standing above the gauge reads 10 kPa,
 * and is taken for its error if the person is wrong.
 */
import type { Sensor } from '../../../config/layout/layout.ts';
import type { TarePicture } from '../../../config/wire/feed.ts';
import type { Picture } from '../../../config/wire/wire.ts';
import type { Reading } from '../../core/telemetry/reading.ts';

interface Sample {
  readonly receivedMs: number;
  readonly pressurePa: number;
}

/** Judgement: so many readings, not older than this or this many intervals, give a mean that is worth taking off. */
const READINGS_LEAST = 3;
const READINGS_MOST = 10;
const OLD_MS = 15_000;
const OLD_INTERVALS = 5;
/** Judgement: a line that drains moves by more than a gauge's own noise within these readings. */
const AT_REST_NOISES = 8;
/**
 * Judgement: a standing error beyond five of its own standard deviations, and two per cent of the range, is no error of
 * a gauge.
 */
const ERROR_SDS = 5;
const ERROR_SHARE = 0.02;

export class Tares {
  readonly #samples = new Map<string, Sample[]>();
  readonly #tares = new Map<string, TarePicture>();

  /**
   * Takes what a gauge said, and gives it back without the error that it had in open air. What is late may be from
   * before the tare.
   */
  correct<Told extends Reading & { readonly live: boolean }>(told: Told): Told {
    if (told.live) this.#remember(told.channel, { receivedMs: told.receivedMs, pressurePa: told.value });
    const tare = this.#tares.get(told.channel);
    return tare && (told.live || told.atMs >= tare.atMs) ? { ...told, value: told.value - tare.offsetPa } : told;
  }

  objection(sensor: Sensor, picture: Picture | null): string | null {
    if (sensor.quantity !== 'pressure')
      return `${sensor.label} measures ${sensor.quantity}: only a pressure gauge has a zero in open air.`;
    const turning = picture?.pumps.find(({ state }) => state !== 'stopped');
    if (!picture || turning) {
      const state = turning?.state === 'unknown' ? 'in a state that is not known' : turning?.state;
      const now = turning ? `'${turning.pump}' is ${state}` : 'nothing is known of them yet';
      return `Only with all pumps stopped, and ${now}: what a gauge reads now is not the open air.`;
    }
    const fresh = this.#fresh(sensor, picture.atMs);
    if (fresh.length < READINGS_LEAST)
      return (
        `${sensor.label} has given ${fresh.length} fresh readings, and ${READINGS_LEAST} are needed. ` +
        'Wait for them.'
      );
    const spreadPa = Math.max(...fresh) - Math.min(...fresh);
    if (spreadPa > AT_REST_NOISES * sensor.noiseSd)
      return (
        `${sensor.label} still moves, by ${kilopascals(spreadPa)} in its last readings: the line is not ` +
        'at rest. Wait until it has drained.'
      );
    const offsetPa = mean(fresh);
    const mostPa = Math.max(ERROR_SDS * sensor.offsetSd, ERROR_SHARE * (sensor.max - sensor.min));
    if (Math.abs(offsetPa) <= mostPa) return null;
    return (
      `${sensor.label} reads ${kilopascals(offsetPa)}: more than the ${kilopascals(mostPa)} that its own ` +
      'error can be. It is not open to the air, water stands above it, or the gauge is broken.'
    );
  }

  /** `offsetPa`: as it was found when it was taken; left out, it is taken now. Returns it. */
  take(sensor: Sensor, by: string, atMs: number, offsetPa = mean(this.#fresh(sensor, atMs))): number {
    this.#tares.set(sensor.id, { sensor: sensor.id, offsetPa, by, atMs });
    return offsetPa;
  }

  /** Another gauge is there now. */
  forget(sensor: Sensor): void {
    this.#tares.delete(sensor.id);
    this.#samples.delete(sensor.id);
  }

  get picture(): readonly TarePicture[] {
    return [...this.#tares.values()];
  }

  #remember(id: string, sample: Sample): void {
    const samples = this.#samples.get(id);
    if (!samples) this.#samples.set(id, [sample]);
    else if (samples.push(sample) > READINGS_MOST) samples.shift();
  }

  #fresh(sensor: Sensor, nowMs: number): number[] {
    const oldestMs = nowMs - Math.max(OLD_MS, OLD_INTERVALS * sensor.intervalS * 1_000);
    return (this.#samples.get(sensor.id) ?? [])
      .filter(({ receivedMs }) => receivedMs >= oldestMs)
      .map(({ pressurePa }) => pressurePa);
  }
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function kilopascals(pressurePa: number): string {
  return `${(pressurePa / 1_000).toFixed(1)} kPa`;
}
