/**
 * Durations as they are said over a radio, the same in every sentence of the gateway and on every screen.
 *
 * In: seconds. Out: seconds, minutes, hours and minutes, days and hours. Time left is rounded down, never up.
 */

/** From so many minutes on, hours are said. */
const HOURS_FROM_MIN = 100;

const inHours = (minutes: number): string => `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')}`;

/** `8 s`, `12 min`, `2 h 05 min`, `3 d 4 h`. */
export function durationWords(seconds: number): string {
  if (seconds < 99.5) return `${Math.round(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < HOURS_FROM_MIN) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 48) return `${inHours(minutes)} min`;
  return `${Math.floor(hours / 24)} d ${hours % 24} h`;
}

/** Time left is never said in seconds: `under 1 min`, `17 min`, `2 h 28 min`. */
export function leftWords(seconds: number): string {
  if (seconds < 60) return 'under 1 min';
  const minutes = Math.floor(seconds / 60);
  return minutes < HOURS_FROM_MIN ? `${minutes} min` : `${inHours(minutes)} min`;
}

/** `under 1 min`, `about 17 min`. */
export function aboutWords(seconds: number): string {
  return seconds < 60 ? leftWords(seconds) : `about ${leftWords(seconds)}`;
}

/** Both ends in the form of the longer one: `14 to 21 min`, `1 h 04 to 1 h 52 min`; what is under 1 min is 0. */
export function rangeWords({ low, high }: { readonly low: number; readonly high: number }): string {
  const [least, most] = [Math.floor(low / 60), Math.floor(high / 60)];
  const end = most < HOURS_FROM_MIN ? String(least) : inHours(least);
  return `${least < 1 ? '0' : end} to ${leftWords(high)}`;
}
