/**
 * The bursts of fast samples that a channel sends: a burst has ended when nothing more of it has come for a while.
 *
 * In: a channel, once a second the time. Out: the samples of a burst that has just ended, oldest first; null: none has.
 */
import type { Channel, Sample } from './channel.ts';

export const GAP_MS = 1_500;

export class Bursts {
  readonly #channel: Channel;
  #samples: readonly Sample[] = [];
  #seenMs = 0;

  constructor(channel: Channel) {
    this.#channel = channel;
  }

  ended(nowMs: number): readonly Sample[] | null {
    const fresh = this.#channel.between(this.#seenMs, nowMs);
    const last = this.#samples.at(-1);
    if (fresh.length > 0) {
      this.#samples = last && fresh[0]!.atMs - last.atMs > GAP_MS ? fresh : [...this.#samples, ...fresh];
      this.#seenMs = fresh.at(-1)!.atMs;
      return null;
    }
    if (!last || nowMs - last.atMs < GAP_MS) return null;
    const burst = this.#samples;
    this.#samples = [];
    return burst;
  }
}
