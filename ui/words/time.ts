/**
 * Times as they are said over a radio: local 24 h clock. Durations are made in one place for screen and gateway.
 */
import { leftWords } from '../../config/durations.ts';

export { durationWords, leftWords, rangeWords } from '../../config/durations.ts';

/** To make a format takes a hundred times as long as to use it. */
function perZone(locale: string, options: Intl.DateTimeFormatOptions): (zone: string) => Intl.DateTimeFormat {
  const made = new Map<string, Intl.DateTimeFormat>();
  return (zone) => {
    let format = made.get(zone);
    if (!format) made.set(zone, (format = new Intl.DateTimeFormat(locale, { ...options, timeZone: zone })));
    return format;
  };
}

const clock = perZone('en-GB', { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
const date = perZone('en-GB', {
  weekday: 'short',
  day: 'numeric',
  month: 'short',
  hour: '2-digit',
  minute: '2-digit',
  second: '2-digit',
  hourCycle: 'h23',
});
const field = perZone('sv-SE', { dateStyle: 'short', timeStyle: 'medium' });
const zoneName = perZone('en-US', { timeZoneName: 'short' });

/** `14:07`, with a trailing `Z` when it is UTC. */
export function clockWords(atMs: number, zone: string): string {
  return clock(zone).format(atMs) + (zone === 'UTC' ? 'Z' : '');
}

/** `Tue 14 Jul 14:07:09`, with a trailing `Z` when it is UTC: for moments of another day. */
export function momentWords(atMs: number, zone: string): string {
  return date(zone).format(atMs).replaceAll(',', '') + (zone === 'UTC' ? 'Z' : '');
}

/** As a date and time field takes it: `2026-07-14T14:07:09` on the clock of a zone. */
export function fieldTime(atMs: number, zone: string): string {
  return field(zone).format(atMs).replace(' ', 'T');
}

/**
 * The moment that a date and time field means on the clock of a zone; null: none. Of an hour that comes twice, the
 * second.
 */
export function momentOf(text: string, zone: string): number | null {
  const asUtc = Date.parse(`${text}Z`);
  if (Number.isNaN(asUtc)) return null;
  let atMs = asUtc;
  for (let turn = 0; turn < 2; turn += 1) atMs += asUtc - Date.parse(`${fieldTime(atMs, zone)}Z`);
  return atMs;
}

/** `MST`, `UTC`, `GMT+2`. */
export function zoneWords(atMs: number, zone: string): string {
  return (
    zoneName(zone)
      .formatToParts(atMs)
      .find(({ type }) => type === 'timeZoneName')?.value ?? zone
  );
}

/** Time left in two parts, for large type: `2 h 28` and `min`. */
export function leftParts(seconds: number): { readonly text: string; readonly unit: string } {
  return seconds < 60 ? { text: '<1', unit: 'min' } : { text: leftWords(seconds).replace(/ min$/, ''), unit: 'min' };
}
