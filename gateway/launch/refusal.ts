/**
 * A start that cannot be: told to whoever started it in one sentence, as it is.
 *
 * In: what a step of the start gave, or why it did not. Out: what it gave; else the refusal, thrown.
 */
export class StartRefused extends Error {}

export function refuse(why: string): never {
  throw new StartRefused(why);
}

export function orRefuse<Result extends { readonly ok: true }>(
  result: Result | { readonly ok: false; readonly why: string },
): Result {
  return result.ok ? result : refuse(result.why);
}
