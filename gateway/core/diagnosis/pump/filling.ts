/**
 * When a lay that is being filled is full.
 *
 * In: open line ends with what a full lay would hold there, a frame a second. Out: whether filling is over: every end
 * holds its share of that, which must be more than nothing, for some frames; or nothing has risen for a minute (a lay
 * that holds less than it should is still full, and something is wrong with it).
 */
import type { Channel } from '../../telemetry/channel.ts';

/** Judgement: below this a line end holds no useful water. */
export const EMPTY_PA = 30_000;
/** Judgements. */
const FILLED_SHARE = 0.7;
const FILLED_FRAMES = 5;
const AT_REST_MS = 60_000;
/** Of slower gauges: a reading in each third of it. */
const AT_REST_INTERVALS = 4.5;

export interface OpenEnd {
  readonly channel: Channel;
  /** Of a healthy lay that is full, Pa; null: not known. */
  readonly expectedPa: number | null;
}

export class Filling {
  #frames = 0;

  /** It does not run, or cannot be seen. */
  forget(): void {
    this.#frames = 0;
  }

  isOver(ends: readonly OpenEnd[], startedMs: number, nowMs: number): boolean {
    const heard = ends.filter(({ channel }) => channel.usable(nowMs) !== null);
    const held = heard.every(
      ({ channel, expectedPa }) =>
        expectedPa !== null &&
        expectedPa > EMPTY_PA &&
        channel.latest!.atMs >= startedMs &&
        channel.usable(nowMs)! >= FILLED_SHARE * expectedPa,
    );
    this.#frames = held && heard.length > 0 ? this.#frames + 1 : 0;
    const restMs = Math.max(AT_REST_MS, ...heard.map(({ channel }) => AT_REST_INTERVALS * channel.everyMs));
    const atRest =
      nowMs - startedMs > 2 * restMs &&
      heard.every(({ channel }) => {
        const late = channel.mean(nowMs - restMs / 3, nowMs);
        const early = channel.mean(nowMs - restMs, nowMs - (2 * restMs) / 3);
        return (
          late !== null &&
          early !== null &&
          Math.abs(late - early) < Math.max(3 * channel.sensor.noiseSd, 0.01 * Math.abs(late))
        );
      });
    if (this.#frames < FILLED_FRAMES && !atRest) return false;
    this.#frames = 0;
    return true;
  }
}
