/**
 * Which findings are one trouble, so that it stays one alarm however its name sharpens.
 *
 * In: the findings of a judgement, as named. Out: the same with the key and the beginning of the trouble that they are.
 * What is named anew while kin of it at another subject has just ended is that trouble under a better name: a leak of
 * the trunk that turns out to be one of the first hose behind it. From line to line nothing moves. Limit: a trouble of
 * the trunk and one of its family on a line, of which one ends within seconds of the other's beginning, look like one.
 */
import type { Finding } from './finding.ts';

/** Judgement: between two names of one trouble there may be so long without any. */
const NAMELESS_MS = 15_000;
/** Judgement: what was named for so long has stood, and is no passing wave. */
const STOOD_MS = 10_000;
/** Judgement: a pump that is seen to move has moved for so long; line ends follow it later. */
const MOVED_MS = 3_000;

interface Trouble {
  readonly key: string;
  readonly sinceMs: number;
  readonly namedMs: number;
  /** Not named any more since; null: named. */
  readonly goneMs: number | null;
}

const familyOf = (name: string): string => name.slice(0, name.indexOf(':'));
const subjectOf = (name: string): string => name.slice(name.indexOf(':') + 1);

/** Of one family, at one subject or between the trunk and a line behind it: never from one line to another. */
function mayBecome(one: string, other: string): boolean {
  return (
    familyOf(one) === familyOf(other) &&
    (subjectOf(one) === subjectOf(other) || [one, other].some((name) => subjectOf(name) === 'trunk'))
  );
}

export class FindingTracker {
  /** By the key of cause and subject under which it goes now. */
  #known = new Map<string, Trouble>();

  /** Names that have stood for a while. */
  stood(nowMs: number): ReadonlySet<string> {
    return new Set(
      [...this.#known].flatMap(([name, { namedMs, goneMs }]) =>
        goneMs === null && nowMs - namedMs > STOOD_MS ? [name] : [],
      ),
    );
  }

  /**
   * `startMs`: where the segment of this judgement begins. `mayMove`: what ends may go on under a name of its kin; not
   * so where evidence only recedes.
   */
  follow(named: readonly Finding[], startMs: number, nowMs: number, mayMove = true): Finding[] {
    const names = new Set(named.map(({ key }) => key));
    this.#known = new Map([...this.#known].filter(([, { goneMs }]) => nowMs - (goneMs ?? nowMs) <= NAMELESS_MS));
    const ended = new Map([...this.#known].filter(([name]) => !names.has(name)));
    const now = new Map<string, Trouble>();
    for (const name of names) {
      const own = this.#known.get(name);
      const [kin, trouble] = own || !mayMove ? [] : ([...ended].find(([other]) => mayBecome(other, name)) ?? []);
      if (kin !== undefined) ended.delete(kin);
      now.set(name, {
        ...(own ?? trouble ?? { key: this.#freeKey(name), sinceMs: startMs, namedMs: nowMs }),
        goneMs: null,
      });
    }
    this.#known = new Map([
      ...now,
      ...[...ended].map(([name, trouble]) => [name, { ...trouble, goneMs: trouble.goneMs ?? nowMs }] as const),
    ]);
    return named
      .filter((finding, index) => named.findIndex(({ key }) => key === finding.key) === index)
      .map((finding) => {
        const { key, sinceMs } = now.get(finding.key)!;
        return { ...finding, key, sinceMs };
      });
  }

  /** The pump moves: what was named just before was named of a pump that moved. Returns the names that go. */
  withdraw(nowMs: number): ReadonlySet<string> {
    const gone = new Set(
      [...this.#known].flatMap(([name, { namedMs }]) => (nowMs - namedMs <= MOVED_MS ? [name] : [])),
    );
    for (const name of gone) this.#known.delete(name);
    return gone;
  }

  /** What people explained is over. */
  forget(fromMs: number): void {
    this.#known = new Map([...this.#known].filter(([, { sinceMs }]) => sinceMs < fromMs));
  }

  /** It goes by this name now. */
  stands(name: string): boolean {
    return this.#known.get(name)?.goneMs === null;
  }

  has(name: string): boolean {
    return this.#known.has(name);
  }

  /** Its name, unless a trouble that was first called so goes on under another. */
  #freeKey(name: string): string {
    const taken = [...this.#known.values()].map(({ key }) => key);
    let key = name;
    for (let count = 2; taken.includes(key); count += 1) key = `${name}:${count}`;
    return key;
  }
}
