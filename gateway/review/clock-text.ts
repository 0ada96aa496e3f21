/**
 * A moment as exports write it: local time with its offset, and UTC.
 *
 * In: ms since 1970 UTC, IANA zone. Out: ISO 8601 to the millisecond. A copy without places has no local time: it would
 * tell the zone.
 */
const formats = new Map<string, Intl.DateTimeFormat>();

export function utcText(atMs: number | null): string | null {
  return atMs === null ? null : new Date(atMs).toISOString();
}

/** An offset holds for a quarter of an hour at least. */
const OFFSET_HOLDS_MS = 900_000;
const offsets = new Map<string, string>();

function offsetAt(atMs: number, zone: string): string {
  const key = `${zone} ${Math.floor(atMs / OFFSET_HOLDS_MS)}`;
  const known = offsets.get(key);
  if (known !== undefined) return known;
  let format = formats.get(zone);
  if (!format) {
    format = new Intl.DateTimeFormat('en-US', { timeZone: zone, timeZoneName: 'longOffset' });
    formats.set(zone, format);
  }
  const offset = /GMT([+-]\d\d:\d\d)?/.exec(format.format(atMs))?.[1] ?? '+00:00';
  if (offsets.size > 5_000) offsets.clear();
  offsets.set(key, offset);
  return offset;
}

/** `2026-07-14T14:07:09.120-06:00`. */
export function localText(atMs: number | null, zone: string | null): string | null {
  if (atMs === null || zone === null) return null;
  const offset = offsetAt(atMs, zone);
  const behindMs = Date.parse(`1970-01-01T00:00:00${offset}`);
  return `${new Date(atMs - behindMs).toISOString().slice(0, -1)}${offset}`;
}
