/** What stands behind the question mark of an address. */

/** A moment in ms; null: none that can be read. */
export function timeOf(value: unknown): number | null {
  const time = typeof value === 'string' && /^-?\d+(\.\d+)?$/.test(value) ? Number(value) : Number.NaN;
  return Number.isFinite(time) ? time : null;
}
