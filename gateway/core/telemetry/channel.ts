/**
 * What one channel knows at a given moment: its latest reading, how fresh that is, and whether it looks stuck.
 *
 * In: readings in order of arrival, their times decided before (time-repair.ts). Out: value, freshness, mean of a
 * recent window. Freshness is judged by the time of measurement, never by the connection. A stuck sensor repeats one
 * value to the last digit while its own noise says that it cannot.
 */
import type { Layout, Sensor } from '../../../config/layout/layout.ts';
import type { Freshness } from '../../../config/wire/wire.ts';
import type { Reading } from './reading.ts';

/** Judgement: late after one and a half intervals, stale after three and a half, never sooner than these. */
const LATE_FLOOR_MS = 3_000;
const STALE_FLOOR_MS = 8_000;
/** Judgement: this many identical readings in a row, over at least this long, are a stuck sensor. */
const STUCK_READINGS = 12;
const STUCK_SPAN_MS = 11_000;
const HISTORY_MS = 300_000;
/** Judgement: what reads farther past its range than this share of it measures nothing. */
const OVERLOAD_SHARE = 0.5;
/** Below its range by this share of it a transmitter still measures: 3.8 mA of 4 to 20 (NAMUR NE 43, from memory). */
const UNDER_SHARE = 0.0125;
/** Twice what 10 Hz gives in that time; a device that floods loses its oldest. */
const SAMPLES_MAX = 6_000;
/**
 * Judgement: a channel keeps another cadence than its layout states when five of so many readings in a row came more
 * than half an interval late; nothing is waited for longer than the last of these.
 */
const PACE_READINGS = 8;
const SLOWER = 1.5;
const SLOWEST_MS = 600_000;

export interface Sample {
  readonly atMs: number;
  readonly value: number;
}

/** One for each sensor of the layout, by its id. */
export function channelsOf(layout: Layout): ReadonlyMap<string, Channel> {
  return new Map(layout.sensors.map((sensor) => [sensor.id, new Channel(sensor)]));
}

export class Channel {
  readonly sensor: Sensor;
  #samples: Sample[] = [];
  #latest: Reading | null = null;
  #heardMs: number | null = null;
  #silenced = false;
  #identical = 0;
  #identicalSinceMs = 0;
  #gapsMs: number[] = [];
  #everyMs: number;
  #device: string;
  #tapBlocked = false;

  constructor(sensor: Sensor) {
    this.sensor = sensor;
    this.#everyMs = 1_000 * sensor.intervalS;
    this.#device = sensor.device;
  }

  /** Who measures there now: as the layout says, until another is given the place. */
  get device(): string {
    return this.#device;
  }

  setDevice(device: string): void {
    this.#device = device;
  }

  /** What it measures is shut off from where it should measure: it holds still while the rest moves. */
  setTapBlocked(blocked: boolean): void {
    this.#tapBlocked = blocked;
  }

  /** Time between its readings: as the layout states, or as it keeps if that is slower; ms. */
  get everyMs(): number {
    return this.#everyMs;
  }

  get latest(): Reading | null {
    return this.#latest;
  }

  /** When it last sent anything at all, however old, by the gateway's clock; null: never. */
  get heardMs(): number | null {
    return this.#heardMs;
  }

  /** Files a reading; one that is older than the newest is kept out of the live view (the journal has it). */
  take(reading: Reading): void {
    this.#heardMs = reading.receivedMs;
    const before = this.#latest;
    if (before && reading.atMs <= before.atMs) return;
    if (before && before.value === reading.value) this.#identical += 1;
    else {
      this.#identical = 1;
      this.#identicalSinceMs = reading.atMs;
    }
    this.#latest = reading;
    this.#silenced = false;
    if (before) this.#pace(reading.atMs - before.atMs);
    if (reading.grade === 'good') this.#samples.push({ atMs: reading.atMs, value: reading.value });
    if (this.#samples.length > SAMPLES_MAX) this.#samples.splice(0, SAMPLES_MAX / 10);
    const oldestMs = reading.atMs - HISTORY_MS;
    if (this.#samples.length > 0 && this.#samples[0]!.atMs < oldestMs - 30_000) {
      this.#samples = this.#samples.filter((sample) => sample.atMs >= oldestMs);
    }
  }

  /** A gap of the road is one late reading; a device that speaks seldom is late every time. */
  #pace(gapMs: number): void {
    this.#gapsMs = [...this.#gapsMs.slice(1 - PACE_READINGS), gapMs];
    const statedMs = 1_000 * this.sensor.intervalS;
    const usualMs = [...this.#gapsMs].sort((a, b) => a - b)[Math.floor(PACE_READINGS / 2) - 1] ?? 0;
    const slower = this.#gapsMs.length === PACE_READINGS && usualMs > SLOWER * statedMs;
    this.#everyMs = slower ? Math.min(usualMs, SLOWEST_MS) : statedMs;
  }

  /** Its device has said that it has no value, or has died: what was known ends now and not when it is old. */
  silence(): void {
    this.#silenced = true;
  }

  freshness(nowMs: number): Freshness {
    if (!this.#latest) return 'never';
    if (this.#silenced) return 'stale';
    const ageMs = nowMs - this.#latest.atMs;
    const intervalMs = this.#everyMs;
    if (ageMs <= Math.max(LATE_FLOOR_MS, 1.5 * intervalMs)) return 'fresh';
    return ageMs <= Math.max(STALE_FLOOR_MS, 3.5 * intervalMs) ? 'late' : 'stale';
  }

  /**
   * Stuck needs noise to be expected: a level or a fuel gauge may well stand still, and so may a dry line or a gauge at
   * the end of its range.
   */
  stuck(): boolean {
    const latest = this.#latest;
    if (!latest || latest.grade !== 'good' || this.sensor.noiseSd <= 0) return false;
    if (this.#tapBlocked) return true;
    const moves = this.sensor.quantity === 'pressure' || this.sensor.quantity === 'flow';
    const atRest = Math.abs(latest.value) < 3 * this.sensor.noiseSd;
    const longEnough =
      latest.atMs - this.#identicalSinceMs >= Math.max(STUCK_SPAN_MS, 11 * this.sensor.intervalS * 1_000);
    return moves && !atRest && this.#identical >= STUCK_READINGS && longEnough;
  }

  /** The value if it may be used in a judgement now: fresh or late, in range, not stuck; else null. */
  usable(nowMs: number): number | null {
    const freshness = this.freshness(nowMs);
    if (freshness === 'stale' || freshness === 'never' || !this.#latest || this.stuck()) return null;
    return this.#latest.grade === 'good' ? this.#latest.value : null;
  }

  /** The same, or the upper end of its range where it is past that: what is there at the least. */
  atLeast(nowMs: number): number | null {
    const past = this.overloaded && this.freshness(nowMs) !== 'stale';
    return past ? this.sensor.max : this.usable(nowMs);
  }

  /** The same, or the lower end of its range where it is a little under that: what is there at the most. */
  atMost(nowMs: number): number | null {
    const { min, max } = this.sensor;
    const latest = this.#latest;
    const isUnder =
      latest?.grade === 'out-of-range' && latest.value < min && min - latest.value <= UNDER_SHARE * (max - min);
    return isUnder && this.freshness(nowMs) !== 'stale' ? min : this.usable(nowMs);
  }

  /** Its latest reading is past the upper end of its range: all it says is 'at least'. */
  get overloaded(): boolean {
    const { min, max } = this.sensor;
    const latest = this.#latest;
    if (latest?.grade !== 'out-of-range') return false;
    return latest.value >= max && latest.value - max <= OVERLOAD_SHARE * (max - min);
  }

  /** Why its latest value cannot be taken as it is; null: nothing is known against it. */
  get doubt(): 'stuck' | 'over-range' | 'out-of-range' | null {
    if (this.stuck()) return 'stuck';
    if (this.overloaded) return 'over-range';
    return this.#latest?.grade === 'out-of-range' ? 'out-of-range' : null;
  }

  /** Samples measured in (fromMs, toMs], oldest first. */
  between(fromMs: number, toMs: number): Sample[] {
    const last = this.#samples.findLastIndex((sample) => sample.atMs <= toMs);
    return this.#samples.slice(
      this.#samples.findLastIndex((sample, index) => index <= last && sample.atMs <= fromMs) + 1,
      last + 1,
    );
  }

  mean(fromMs: number, toMs: number): number | null {
    const samples = this.between(fromMs, toMs);
    if (samples.length === 0) return null;
    return samples.reduce((sum, sample) => sum + sample.value, 0) / samples.length;
  }
}
