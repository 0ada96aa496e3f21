/**
 * JSON Pointer (RFC 6901): which member of a foreign document holds a value.
 *
 * In: a pointer such as '/decoded/pressure' and a document as JSON.parse gives it. Out: its steps, or null when it is
 * none; and what stands there. Only a document's own members are followed, so that a step called __proto__ or length
 * finds nothing.
 */
export type Pointer = readonly string[];

export type Followed =
  | { readonly found: true; readonly value: unknown }
  /** `parent`: what the last step was looked for in; undefined when the way there was missing already. */
  | { readonly found: false; readonly parent: unknown };

export function parsePointer(text: string): Pointer | null {
  if (text === '') return [];
  if (!text.startsWith('/') || /~(?![01])/.test(text)) return null;
  return text
    .slice(1)
    .split('/')
    .map((step) => step.replaceAll('~1', '/').replaceAll('~0', '~'));
}

export function follow(document: unknown, pointer: Pointer): Followed {
  let value = document;
  for (const [index, step] of pointer.entries()) {
    const inside =
      typeof value === 'object' &&
      value !== null &&
      (Array.isArray(value) ? isPlace(step, value.length) : Object.hasOwn(value, step));
    if (!inside) return { found: false, parent: index === pointer.length - 1 ? value : undefined };
    value = (value as Record<string, unknown>)[step];
  }
  return { found: true, value };
}

/** Section 4 there: digits without a zero in front; '-' is the place behind the last one, where nothing stands. */
function isPlace(step: string, length: number): boolean {
  return /^(0|[1-9]\d*)$/.test(step) && Number(step) < length;
}
