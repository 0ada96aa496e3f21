/**
 * One gauge's residuals, oldest first, as running sums: the mean of any spell comes from its two ends.
 *
 * In: residuals with their time of measurement, in order. Out: sum and number of a spell, and the points of it. Only
 * the newest thousand or so are kept.
 */
import type { Points } from './shape.ts';

const MOST_POINTS = 1_200;
const DROPPED_AT_ONCE = 400;

export class ResidualSeries {
  #timesMs: number[] = [];
  #sums: number[] = [0];

  file(atMs: number, value: number): void {
    this.#timesMs.push(atMs);
    this.#sums.push(this.#sums.at(-1)! + value);
    if (this.#timesMs.length <= MOST_POINTS) return;
    this.#timesMs.splice(0, DROPPED_AT_ONCE);
    this.#sums.splice(0, DROPPED_AT_ONCE);
  }

  clear(): void {
    this.#timesMs = [];
    this.#sums = [0];
  }

  /** Sum and number of what was measured in (fromMs, toMs]. */
  spell(fromMs: number, toMs: number): { readonly sum: number; readonly count: number } {
    const [from, to] = [this.#until(fromMs), this.#until(toMs)];
    return { sum: this.#sums[to]! - this.#sums[from]!, count: Math.max(0, to - from) };
  }

  points(fromMs: number): Points {
    const from = this.#until(fromMs);
    return {
      timesMs: this.#timesMs.slice(from),
      values: this.#timesMs.slice(from).map((_, index) => this.#sums[from + index + 1]! - this.#sums[from + index]!),
    };
  }

  /** How many are not newer than `atMs`; most questions are about the newest. */
  #until(atMs: number): number {
    let low = 0;
    let high = this.#timesMs.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.#timesMs[middle]! <= atMs) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}
