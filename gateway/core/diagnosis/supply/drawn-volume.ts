/**
 * How much water the pumps have taken from one source, over the last minutes.
 *
 * In: the drawn flow once a second (m3/s; null: not known). Out: the volume drawn up to any moment of these minutes
 * (m3, from an arbitrary zero), and the mean flow of the last seconds. Null where the flow was not known in between.
 */

/** Judgement: over so long a flow meter's noise is averaged out, and a hand on the throttle is not. */
const LATELY_MS = 8_000;
const MEMORY_MS = 300_000;
/** A gap between frames in which nobody knows what was drawn. */
const GAP_MS = 2_500;

interface Mark {
  readonly atMs: number;
  readonly totalM3: number;
}

export class DrawnVolume {
  /** Oldest first, of the spell up to now in which the flow was known throughout. */
  #marks: Mark[] = [];

  second(atMs: number, flowM3s: number | null): void {
    const last = this.#marks.at(-1);
    if (flowM3s === null) {
      this.#marks = [];
      return;
    }
    if (!last || atMs - last.atMs > GAP_MS) {
      this.#marks = [{ atMs, totalM3: 0 }];
      return;
    }
    this.#marks.push({ atMs, totalM3: last.totalM3 + (flowM3s * (atMs - last.atMs)) / 1_000 });
    if (this.#marks[0]!.atMs < atMs - MEMORY_MS) this.#marks.shift();
  }

  until(atMs: number): number | null {
    const [first, last] = [this.#marks[0], this.#marks.at(-1)];
    if (!first || !last || atMs < first.atMs) return null;
    if (atMs >= last.atMs) return last.totalM3;
    // One mark a second: the place is known to one or two.
    let at = Math.min(this.#marks.length - 1, Math.floor((atMs - first.atMs) / 1_000));
    while (at > 0 && this.#marks[at]!.atMs > atMs) at -= 1;
    while (at + 1 < this.#marks.length && this.#marks[at + 1]!.atMs <= atMs) at += 1;
    return this.#marks[at]!.totalM3;
  }

  /** Mean flow of the last seconds; null: not known for so long. */
  get latelyM3s(): number | null {
    const last = this.#marks.at(-1);
    const before = last === undefined ? null : this.until(last.atMs - LATELY_MS);
    return last === undefined || before === null ? null : (1_000 * (last.totalM3 - before)) / LATELY_MS;
  }
}
