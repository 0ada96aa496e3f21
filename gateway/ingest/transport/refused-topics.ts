/**
 * The topics of what was refused for one reason, each with its count, its newest time, and what would have been right.
 *
 * Bounded: of more topics than are kept the one that came least often and longest ago is forgotten, so that one that
 * comes again and again stays in sight beside a flood of others. How many were refused in all is counted elsewhere.
 */
import type { RefusedTopic } from '../../../config/wire/feed.ts';

/** Judgement: more are not looked at one by one; and in so many others one that comes again is found. */
const SHOWN_MAX = 20;
const KEPT_MAX = 500;

export class RefusedTopics {
  /** The one heard longest ago first. */
  readonly #rows = new Map<string, RefusedTopic>();

  count(topic: string, hint: string | null, lastMs: number): void {
    const count = (this.#rows.get(topic)?.count ?? 0) + 1;
    this.#rows.delete(topic);
    if (this.#rows.size >= KEPT_MAX) this.#makeRoom();
    this.#rows.set(topic, { topic, hint, count, lastMs });
  }

  /** Those that came most often, and of equals the newest first. */
  get picture(): readonly RefusedTopic[] {
    const newest = [...this.#rows.values()].reverse();
    return newest.sort((one, other) => other.count - one.count).slice(0, SHOWN_MAX);
  }

  #makeRoom(): void {
    let rarest: RefusedTopic | null = null;
    for (const row of this.#rows.values()) if (rarest === null || row.count < rarest.count) rarest = row;
    if (rarest) this.#rows.delete(rarest.topic);
  }
}
