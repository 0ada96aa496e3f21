/**
 * What is to be thought of one device's clock, from when it says it measured and when that came in.
 *
 * In: the newest time of each of its packets (ms since 1970), with the time of receipt. Out: state and offset, for
 * people; nothing is corrected here: time-repair.ts says which times are used, and by how much they are put right.
 * Limit: old readings sent between new ones look like a clock that jumps.
 */
import type { ClockPicture } from '../../../config/wire/feed.ts';
import { AHEAD_MAX_MS, BEHIND_MAX_MS, CLOCK_OFF_MS, CLOCK_READINGS, CLOCK_SPREAD_MS } from './time-repair.ts';

/** Judgement: a link that was down once throws a device back once; twice among so many packets is its clock. */
const REMEMBERED = 8;
const LEAP_MS = 30_000;
const LEAPS = 2;

export class DeviceClock {
  readonly #offsets: number[] = [];

  hear(deviceMs: number, receivedMs: number): void {
    if (this.#offsets.push(deviceMs - receivedMs) > REMEMBERED) this.#offsets.shift();
  }

  /** `clockSpeed` of a simulated run, which is only known from beat to beat. Null: the device has said no time. */
  picture(clockSpeed: number): ClockPicture | null {
    const offMs = this.#offsets.at(-1);
    if (offMs === undefined) return null;
    const slack = Math.max(1, clockSpeed);
    const leaps = this.#offsets.filter(
      (offset, index) => index > 0 && this.#offsets[index - 1]! - offset > LEAP_MS * slack,
    ).length;
    const recent = this.#offsets.slice(-CLOCK_READINGS);
    const even =
      recent.length === CLOCK_READINGS && Math.max(...recent) - Math.min(...recent) < CLOCK_SPREAD_MS * slack;
    const state =
      leaps >= LEAPS
        ? 'jumping'
        : offMs < -BEHIND_MAX_MS || offMs > BEHIND_MAX_MS
          ? 'wild'
          : offMs > AHEAD_MAX_MS * slack
            ? 'ahead'
            : offMs >= -CLOCK_OFF_MS * slack
              ? 'right'
              : even
                ? 'behind'
                : 'late';
    return { state, offMs: Math.round(offMs) };
  }
}
