/**
 * Keeps what is told of a trouble from wavering: places and size that have been told for a while change only once the
 * new ones have lasted, so that a reading or two at the beginning of its end do not change them.
 *
 * In: findings of a judgement, what was told before, what has stood (names). Out: the findings with the places and the
 * size to tell. Another cause, or another subject, is told at once. Limit: a better place comes some seconds late.
 */
import { keyOf } from '../causes/causes.ts';
import { keptWords } from './ending.ts';
import type { Finding } from './finding.ts';

export interface Telling {
  /** There is plainly less of what stood: no time for other words. */
  readonly weaker: boolean;
  /** Somebody has looked: what they saw is told at once. */
  readonly looked: boolean;
  readonly stood: ReadonlySet<string>;
  readonly atMs: number;
}

/** Judgement: what a repair does to the readings shows as such within so long. */
const LASTS_MS = 8_000;
/** Judgement: a size that moves by less is the same to whoever reads it. */
const SAME_SIZE = 0.15;

export class SteadyWords {
  /** Since when a trouble would be told otherwise, by its name. */
  #otherMs = new Map<string, number>();

  of(named: readonly Finding[], told: readonly Finding[], telling: Telling): readonly Finding[] {
    if (telling.looked || telling.weaker) this.#otherMs.clear();
    if (telling.looked) return named;
    const kept = keptWords(named, told, telling.weaker, telling.stood);
    return telling.weaker ? kept : this.#settle(kept, told, telling);
  }

  #settle(named: readonly Finding[], told: readonly Finding[], { stood, atMs }: Telling): Finding[] {
    const waits = new Map<string, number>();
    const out = named.map((one) => {
      const name = keyOf(one.cause, one.subject);
      const before = told.find(({ cause, subject }) => cause === one.cause && subject === one.subject);
      if (!before || !stood.has(name) || isSame(before, one)) return one;
      const sinceMs = this.#otherMs.get(name) ?? atMs;
      if (atMs - sinceMs >= LASTS_MS) return one;
      waits.set(name, sinceMs);
      return { ...one, places: before.places, sizeM3s: before.sizeM3s };
    });
    this.#otherMs = waits;
    return out;
  }
}

function isSame(before: Finding, now: Finding): boolean {
  const [was, is] = [before.sizeM3s?.best ?? 0, now.sizeM3s?.best ?? 0];
  const places = ({ places: all }: Finding): string =>
    all
      .map(({ id }) => id)
      .toSorted()
      .join();
  return places(before) === places(now) && Math.abs(is - was) <= SAME_SIZE * Math.abs(was);
}
