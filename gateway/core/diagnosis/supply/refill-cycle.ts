/**
 * The swing of a tank that is refilled again and again: how far it runs down before each refill, and how full each
 * leaves it. What it has done every time is no news.
 *
 * In: usable volume m3, whether it is being filled, whether water is drawn, once a second while the level is heard.
 * Out: whether a volume lies within the swing of its last refills, and whether it is in the upper part of that swing.
 * Known after two refills, forgotten when the last one is half a day old. Limit: where the tender stays away, this
 * tells only once the tank is lower than before any of its last refills.
 */

const REMEMBERED = 3;
const LEAST_REFILLS = 2;
const FORGOTTEN_MS = 43_200_000;
/** Judgement: a rise that ends sooner is a wave or a hose that was tried. */
const LEAST_FILL_MS = 60_000;
/** Judgement: so much of the swing lower than ever before is no news yet, and above so much of it the tank is full. */
const MARGIN_SHARE = 0.08;
const UPPER_SHARE = 0.6;

interface Refill {
  readonly fromM3: number;
  readonly toM3: number;
  readonly endedMs: number;
}

export class RefillCycle {
  #refills: readonly Refill[] = [];
  /** Lowest since the last refill, and the refill that is on. */
  #lowestM3 = Infinity;
  #filling: { readonly sinceMs: number; readonly fromM3: number } | null = null;

  observe(nowMs: number, usableM3: number, filling: boolean): void {
    this.#refills = this.#refills.filter(({ endedMs }) => nowMs - endedMs < FORGOTTEN_MS);
    this.#lowestM3 = Math.min(this.#lowestM3, usableM3);
    if (filling) {
      this.#filling ??= { sinceMs: nowMs, fromM3: this.#lowestM3 };
      return;
    }
    if (!this.#filling) return;
    const { sinceMs, fromM3 } = this.#filling;
    this.#filling = null;
    if (nowMs - sinceMs < LEAST_FILL_MS) return;
    this.#refills = [...this.#refills, { fromM3, toM3: usableM3, endedMs: nowMs }].slice(-REMEMBERED);
    this.#lowestM3 = usableM3;
  }

  /** Null: no swing is known. */
  get #swing(): { readonly lowM3: number; readonly highM3: number } | null {
    if (this.#refills.length < LEAST_REFILLS) return null;
    return {
      lowM3: Math.min(...this.#refills.map(({ fromM3 }) => fromM3)),
      highM3: Math.min(...this.#refills.map(({ toM3 }) => toM3)),
    };
  }

  /** No lower than before one of its last refills. */
  holds(usableM3: number): boolean {
    const swing = this.#swing;
    return swing !== null && usableM3 > swing.lowM3 - MARGIN_SHARE * (swing.highM3 - swing.lowM3);
  }

  isUp(usableM3: number): boolean {
    const swing = this.#swing;
    return swing !== null && usableM3 > swing.lowM3 + UPPER_SHARE * (swing.highM3 - swing.lowM3);
  }
}
