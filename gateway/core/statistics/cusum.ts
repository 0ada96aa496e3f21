/**
 * Page's cumulative sums, both ways: how far a series has crept from its reference, and since when.
 *
 * In: values in standard deviations from the reference. Out: whether a sum has passed its limit, which way, and at
 * which value it last left zero (the usual estimate of the onset). Page, Biometrika 41 (1954) 100 (from memory).
 * Valid for independent values; correlated ones run shorter.
 */
export interface Crept {
  readonly way: 'up' | 'down';
  /** Values since the sum last was zero. */
  readonly length: number;
}

export class Cusum {
  readonly #slack: number;
  readonly #limit: number;
  #up = 0;
  #down = 0;
  #upLength = 0;
  #downLength = 0;

  /** Both in standard deviations: half the shift to be found, and the sum that counts as one. */
  constructor(slack: number, limit: number) {
    this.#slack = slack;
    this.#limit = limit;
  }

  get sums(): { readonly up: number; readonly down: number } {
    return { up: this.#up, down: this.#down };
  }

  take(value: number): Crept | null {
    this.#up = Math.max(0, this.#up + value - this.#slack);
    this.#down = Math.max(0, this.#down - value - this.#slack);
    this.#upLength = this.#up > 0 ? this.#upLength + 1 : 0;
    this.#downLength = this.#down > 0 ? this.#downLength + 1 : 0;
    if (this.#up > this.#limit) return { way: 'up', length: this.#upLength };
    return this.#down > this.#limit ? { way: 'down', length: this.#downLength } : null;
  }
}
