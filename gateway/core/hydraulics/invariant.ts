/**
 * What a physics function takes for granted of its numbers. In: where, what, the number. Out: nothing, or a RangeError
 * that names all three. Layouts and readings are checked before they come here, so what trips over this is our own
 * mistake. Not for the loops of the solver, which names what is not a number by itself (`hydraulics/not-a-number`), nor
 * for its results: of a lay without an answer they are NaN, and stay NaN through whatever is worked out of them.
 */

/** Above nothing, and finite: a bore, a length that is divided by, a density. */
export function requirePositive(place: string, what: string, value: number): void {
  if (!(value > 0 && value < Infinity)) refuse(place, what, value, 'above 0');
}

/** Nothing or more, and finite. */
export function requireNotNegative(place: string, what: string, value: number): void {
  if (!(value >= 0 && value < Infinity)) refuse(place, what, value, 'of at least 0');
}

export function requireFinite(place: string, what: string, value: number): void {
  if (!Number.isFinite(value)) refuse(place, what, value, 'that is finite');
}

export function requireWithin(place: string, what: string, value: number, least: number, most: number): void {
  if (!(value >= least && value <= most)) refuse(place, what, value, `from ${least} to ${most}`);
}

function refuse(place: string, what: string, value: number, wanted: string): never {
  throw new RangeError(`${place}: ${what} must be a number ${wanted}, not ${value}`);
}
