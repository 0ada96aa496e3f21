/**
 * Line ends that do not follow the pump: what they measure is shut off from the line (ice in the stub, a plugged
 * snubber, a shut cock).
 *
 * In: once a second how the pumps move, what each line end should read, its channel. Out: the channels
 * that held still while a hand on the throttle moved what they should read. Their electronics go on as ever, so no
 * noise is missing; only the next step of the throttle shows it, and shows when it is over. Limit: says nothing between
 * two steps, nor of an end that reads far off already: that is for the causes to say.
 */
import type { Channel } from '../../telemetry/channel.ts';
import type { Gauge } from '../model/gauge.ts';
import { mean } from '../../statistics/gaussian.ts';
import type { Motion } from '../pump/pump-watch.ts';

/**
 * Judgement: a step that should move a line end by so much, and by ten times the noise of a mean; less than a seventh
 * of it is no answer, more than half is one.
 */
const PLAIN_PA = 25_000;
const PLAIN_SD = 10;
const HOLDS_SHARE = 0.15;
const FOLLOWS_SHARE = 0.5;
/** Judgement: so many seconds of still running say what a line end reads; of slower channels nothing is asked. */
const STILL_MS = 4_000;
const LEAST_READINGS = 3;
const NEAR_SHARE = 0.2;
/** A step takes up to so long, with the seconds after it. */
const STEP_MS = 40_000;

interface Still {
  readonly atMs: number;
  readonly expectedPa: readonly number[];
}

export class BlockedTaps {
  readonly #ends: readonly { readonly gauge: number; readonly channel: Channel }[];
  #stillMs: number | null = null;
  #last: Still | null = null;
  /**
   * The newest; right only if the next one stands still as well: what moves is in the boundary a frame before it shows
   * as moving.
   */
  #newest: Still | null = null;
  #before: Still | null = null;
  readonly #blocked = new Set<string>();

  constructor(gauges: readonly Gauge[], channels: ReadonlyMap<string, Channel>) {
    this.#ends = gauges.flatMap(({ kind, sensor }, gauge) =>
      kind === 'end' ? [{ gauge, channel: channels.get(sensor.id)! }] : [],
    );
  }

  /** Sensors whose tap is blocked. */
  get blocked(): ReadonlySet<string> {
    return this.#blocked;
  }

  /** `expected` of a gauge, Pa; NaN: nothing is expected of it. */
  observe(atMs: number, motion: Motion, expected: (gauge: number) => number): void {
    if (motion === 'unheard') return;
    if (motion !== 'still') {
      this.#before = motion === 'throttled' ? (this.#before ?? this.#last) : null;
      this.#stillMs = this.#last = this.#newest = null;
      return;
    }
    this.#stillMs ??= atMs;
    if (atMs - this.#stillMs < STILL_MS) return;
    this.#last = this.#newest;
    this.#newest = { atMs, expectedPa: this.#ends.map(({ gauge }) => expected(gauge)) };
    if (!this.#last) return;
    if (this.#before && this.#last.atMs - this.#before.atMs < STEP_MS) this.#compare(this.#before, this.#last);
    this.#before = null;
  }

  #compare(before: Still, now: Still): void {
    this.#ends.forEach(({ channel }, end) => {
      const [early, late] = [before, now].map(({ atMs }) =>
        channel.between(atMs - STILL_MS, atMs).map(({ value }) => value),
      );
      if (early!.length < LEAST_READINGS || late!.length < LEAST_READINGS) return;
      const should = now.expectedPa[end]! - before.expectedPa[end]!;
      const near = Math.abs(mean(early!) / before.expectedPa[end]! - 1) < NEAR_SHARE;
      const sd = channel.sensor.noiseSd * Math.sqrt(1 / early!.length + 1 / late!.length);
      if (!(Math.abs(should) > Math.max(PLAIN_PA, PLAIN_SD * sd))) return;
      const share = (mean(late!) - mean(early!)) / should;
      if (near && Math.abs(share) < HOLDS_SHARE) this.#blocked.add(channel.sensor.id);
      else if (share > FOLLOWS_SHARE) this.#blocked.delete(channel.sensor.id);
    });
  }
}
