/**
 * Keeps what is told of a trouble from wavering: places and size that have been told for a while change only once the
 * new ones have lasted, so that a reading or two at the beginning of its end do not change them.
 *
 * In: findings of a judgement, what was told before, what has stood (names). Out: the findings with the places and the
 * size to tell. Another cause, or another subject, is told at once. Limit: a better place comes some seconds late.
 */
import { keyOf } from '../causes/hypothesis.ts';
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
/** Judgement: places told still serve while they hold so much of what is likely now. */
const SAME_PLACES = 0.6;

export class SteadyWords {
  /** Since when a trouble would be told otherwise, by its name. */
  #otherMs = new Map<string, number>();

  of(named: readonly Finding[], told: readonly Finding[], telling: Telling): readonly Finding[] {
    if (telling.looked || telling.weaker) this.#otherMs.clear();
    if (telling.looked) return named;
    const words = keptWords(named, told, telling.weaker, telling.stood);
    return telling.weaker ? words : this.#settle(words, told, telling);
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
  const places = ({ places: all }: Finding): string =>
    all
      .map(({ id }) => id)
      .toSorted()
      .join();
  return places(before) === places(now) && isSameSize(before, now);
}

function isSameSize(before: Finding, now: Finding): boolean {
  const [beforeM3s, nowM3s] = [before.sizeM3s?.best ?? 0, now.sizeM3s?.best ?? 0];
  return Math.abs(nowM3s - beforeM3s) <= SAME_SIZE * Math.abs(beforeM3s);
}

/**
 * What was told already of the same troubles: all of it, or of what has `stood` places and size, where what is found
 * now says no more.
 */
function keptWords(
  named: readonly Finding[],
  told: readonly Finding[],
  all: boolean,
  stood: ReadonlySet<string>,
): Finding[] {
  return named.map((one) => {
    const name = keyOf(one.cause, one.subject);
    const before = told.find((other) => keyOf(other.cause, other.subject) === name);
    if (!before) return one;
    if (all) return { ...before, key: one.key, sinceMs: one.sinceMs };
    return stood.has(name) && saysTheSame(before, one)
      ? { ...one, places: before.places, sizeM3s: before.sizeM3s }
      : one;
  });
}

function saysTheSame(before: Finding, now: Finding): boolean {
  const held = now.places
    .filter(({ id }) => before.places.some((place) => place.id === id))
    .reduce((sum, { probability }) => sum + probability, 0);
  return (
    before.cause === now.cause &&
    now.places.length >= before.places.length &&
    held >= SAME_PLACES &&
    isSameSize(before, now)
  );
}
