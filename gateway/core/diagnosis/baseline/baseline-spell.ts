/**
 * The steady spell that a baseline is taken from: since when pumps hold still, how long it must last with these gauges,
 * and the mean of every gauge over it.
 *
 * In: once a second how the pumps move; the channels. Out: seconds held and needed, means and counts (SI). A gauge that
 * is not heard has no mean, and nothing waits for it.
 */
import type { Channel } from '../../telemetry/channel.ts';
import type { Motion } from '../pump/pump-watch.ts';

/** Judgement: as long as half a minute once a second, with so many readings of every gauge; the last minute counts. */
const LEAST_MS = 25_000;
const MEAN_MS = 60_000;
export const BASELINE_READINGS = 3;

/** How long pumps must hold still with gauges as slow as this, ms. */
export const neededMs = (everyMs: number): number => Math.max(LEAST_MS, BASELINE_READINGS * everyMs);

export class BaselineSpell {
  #sinceMs: number | null = null;

  /** `motion`: null while the lay does not run or is still filling. Seconds that the radio lost are no movement. */
  observe(motion: Motion | null, nowMs: number): void {
    if (motion === 'still') this.#sinceMs ??= nowMs;
    else if (motion !== 'unheard') this.#sinceMs = null;
  }

  heldMs(nowMs: number): number {
    return this.#sinceMs === null ? 0 : nowMs - this.#sinceMs;
  }

  neededMs(channels: readonly Channel[], nowMs: number): number {
    const heard = channels.filter((channel) => channel.usable(nowMs) !== null);
    return neededMs(Math.max(0, ...heard.map(({ everyMs }) => everyMs)));
  }

  /** From when on this channel's readings count. */
  fromMs({ everyMs }: Channel, nowMs: number): number {
    return nowMs - Math.min(this.heldMs(nowMs), Math.max(MEAN_MS, 2 * BASELINE_READINGS * everyMs));
  }

  mean(channel: Channel, nowMs: number): number {
    return channel.usable(nowMs) === null ? NaN : (channel.mean(this.fromMs(channel, nowMs), nowMs) ?? NaN);
  }

  count(channel: Channel, nowMs: number): number {
    return channel.between(this.fromMs(channel, nowMs), nowMs).length;
  }
}
