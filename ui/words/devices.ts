/**
 * What is said of a device as a device: its clock, its battery, what it lost.
 *
 * In: what the gateway knows of it. Out: a clause each, and whether somebody should look.
 */
import type { ClockPicture, DevicePicture } from '../../config/wire/feed.ts';
import { durationWords } from './time.ts';

export interface Clause {
  readonly words: string;
  readonly bad: boolean;
}

/** Judgement: a tenth of the readings lost, or a fifth of a battery left, is worth a walk when somebody passes. */
const LOSS_BAD = 0.1;
const BATTERY_BAD = 0.2;

/** `putRightMs`: by how much its readings are put right; `heardMs`: when the clock was heard. */
export function deviceClockWords(clock: ClockPicture | null, putRightMs: number, heardMs: number | null): Clause {
  if (clock === null) return { words: 'says no time of its own: the time of receipt counts', bad: false };
  const off = durationWords(Math.abs(clock.offMs) / 1_000);
  switch (clock.state) {
    case 'right':
      return { words: 'clock right', bad: false };
    case 'behind':
      return putRightMs > 0
        ? { words: `clock ${off} behind, put right`, bad: false }
        : { words: `clock ${off} behind: its readings look that old`, bad: true };
    case 'late':
      return { words: `readings come ${off} late, by different amounts, as after a gap`, bad: false };
    case 'ahead':
      return { words: `clock ${off} ahead: not used, the time of receipt counts`, bad: true };
    case 'jumping':
      return {
        words:
          `clock jumps, or old readings come between new ones; last ${off} ` +
          `${clock.offMs > 0 ? 'ahead' : 'behind'}`,
        bad: true,
      };
    case 'wild':
      return {
        words:
          'clock says ' +
          `${heardMs === null ? 'another year' : new Date(heardMs + clock.offMs).getUTCFullYear()}: not ` +
          'used, the time of receipt counts',
        bad: true,
      };
  }
}

export function batteryWords(battery: DevicePicture['battery']): Clause | null {
  if (battery === null) return null;
  if ('volts' in battery) return { words: `battery ${battery.volts.toFixed(2)} V`, bad: false };
  return { words: `battery ${Math.round(battery.share * 100)} %`, bad: battery.share < BATTERY_BAD };
}

export function lossWords(lost: number | null): Clause {
  if (lost === null) return { words: 'loss not known yet', bad: false };
  const percent = Math.round(lost * 100);
  return { words: percent === 0 ? 'nothing lost in 10 min' : `${percent} % lost in 10 min`, bad: lost >= LOSS_BAD };
}
