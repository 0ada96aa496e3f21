/**
 * What runs on for some seconds once a trouble has ended, while hoses come to another pressure: it looks like a small
 * new one.
 *
 * In: findings of a judgement, and those before it. Out: the findings without such transients. Limit: a true new
 * trouble, smaller than half of one that ended in the same seconds, is told a quarter of a minute late.
 */
import type { Finding } from './finding.ts';

/** Judgements. */
const LASTS_MS = 15_000;
const LEAST_SHARE = 0.5;

export class Transients {
  #endedMs = -Infinity;
  #sizeM3s = 0;

  without(named: readonly Finding[], before: readonly Finding[], nowMs: number): Finding[] {
    const sizes = before
      .filter(({ key }) => named.every((finding) => finding.key !== key))
      .map(({ sizeM3s }) => Math.abs(sizeM3s?.best ?? 0));
    if (Math.max(0, ...sizes) > 0) {
      this.#endedMs = nowMs;
      this.#sizeM3s = Math.max(...sizes);
    }
    return named.filter(({ sinceMs, sizeM3s }) => {
      const recent = nowMs - this.#endedMs < LASTS_MS && sinceMs > this.#endedMs - LASTS_MS;
      return !recent || sizeM3s === null || Math.abs(sizeM3s.best) >= LEAST_SHARE * this.#sizeM3s;
    });
  }
}
