/**
 * What a physics function takes for granted of its numbers. In: where, what, the number. Out: nothing, or a RangeError
 * that names all three. Layouts and readings are checked before they come here, so what trips over this is our own
 * mistake. Not for the loops of the solver: it names what is not a number by itself (`hydraulics/not-a-number`).
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
