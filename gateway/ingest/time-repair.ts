/**
 * At which time a reading is filed: the device's own clock where it can be believed, else the time of receipt.
 *
 * Rule: a device's time is used when it lies between 48 h before receipt and 5 s after it (times the speed of a
 * simulation, whose clock is only known from beat to beat). Later or older than that is a clock that was never set or
 * runs wild: the time of receipt is used, and the device's own time is kept beside it. A retained packet is the last
 * value and not a live one, so the time of receipt says nothing about it: without a believable absolute time it is not
 * filed at all. Limit: a clock that is slow by minutes looks like a backlog here; telemetry/channel.ts puts it right
 * once it is steady.
 */
import type { SenmlTime } from './senml.ts';

export interface Placed {
  readonly atMs: number;
  /** What the device's clock said, or null when it said nothing absolute, or no date. */
  readonly deviceMs: number | null;
}

/** Judgement: radio links and clocks set by hand are seconds off; a backlog longer than two days is no longer news. */
export const AHEAD_MAX_MS = 5_000;
export const BEHIND_MAX_MS = 48 * 3_600_000;
/** Beyond it there is no date (ECMAScript time values), and soon no whole number that the record can hold. */
const CALENDAR_ENDS_MS = 8.64e15;

export function placeInTime(time: SenmlTime, receivedMs: number, retained: boolean, clockSpeed: number): Placed | null {
  const claimedMs =
    time.kind === 'absolute' ? time.atMs : time.kind === 'relative' ? receivedMs + time.offsetMs : receivedMs;
  const aheadMaxMs = AHEAD_MAX_MS * Math.max(1, clockSpeed);
  const believable = claimedMs <= receivedMs + aheadMaxMs && claimedMs >= receivedMs - BEHIND_MAX_MS;
  if (retained && (time.kind !== 'absolute' || !believable)) return null;
  return { atMs: Math.round(believable ? claimedMs : receivedMs), deviceMs: saidMs(time, aheadMaxMs) };
}

/**
 * Nothing is measured in the future: seconds 'from now' that many are seconds since 1970, of a clock that was never
 * set.
 */
function saidMs(time: SenmlTime, aheadMaxMs: number): number | null {
  if (time.kind === 'relative') return time.offsetMs > aheadMaxMs ? Math.round(time.offsetMs) : null;
  return time.kind === 'absolute' && Math.abs(time.atMs) <= CALENDAR_ENDS_MS ? time.atMs : null;
}
