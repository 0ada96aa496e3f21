/**
 * How long somebody who gave wrong secrets must wait before the next try is even looked at.
 *
 * In: who (an address, or address and name) and the wall's time in ms. Out: ms to wait, 0 to go on. A try counts as
 * failed from the moment it begins, so that many at once gain nothing. Judgement: three tries are free, then 1 s,
 * doubling to five minutes; an hour without a failure is forgotten. Over all addresses together at most so many tries a
 * second are looked at. Limit: people behind one address wait for each other.
 */
const FREE_TRIES = 3;
const FIRST_WAIT_MS = 1_000;
const LONGEST_WAIT_MS = 300_000;
const FORGOTTEN_AFTER_MS = 3_600_000;
/** Judgement: enough for every device of a site behind every radio. The oldest goes first. */
const KNOWN_MAX = 2_000;

interface Record {
  readonly failures: number;
  readonly lastMs: number;
}

export class Throttle {
  readonly #perSecond: number;
  readonly #known = new Map<string, Record>();
  #secondMs = 0;
  #inSecond = 0;

  constructor(perSecond: number) {
    this.#perSecond = perSecond;
  }

  /** Begins a try: 0, or how long to wait without having tried. */
  begin(who: string, nowMs: number): number {
    const known = this.#known.get(who);
    const failures = known && nowMs - known.lastMs < FORGOTTEN_AFTER_MS ? known.failures : 0;
    const pauseMs = failures < FREE_TRIES ? 0 : Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** (failures - FREE_TRIES));
    // A wall clock that was set back must not lock anybody out.
    const waitMs = known && nowMs >= known.lastMs ? known.lastMs + pauseMs - nowMs : 0;
    if (waitMs > 0) return waitMs;
    if (Math.abs(nowMs - this.#secondMs) >= 1_000) {
      this.#secondMs = nowMs;
      this.#inSecond = 0;
    }
    this.#inSecond += 1;
    if (this.#inSecond > this.#perSecond) return 1_000;
    this.#known.delete(who);
    this.#known.set(who, { failures: failures + 1, lastMs: nowMs });
    if (this.#known.size > KNOWN_MAX) this.#known.delete([...this.#known.keys()][0] ?? '');
    return 0;
  }

  passed(who: string): void {
    this.#known.delete(who);
  }
}
