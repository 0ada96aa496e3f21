/**
 * Words for when no picture comes: what cannot be sent, what is missing, what a reload would lose, and states in the
 * past tense with the time they are of. Nothing here may read as the state of things now.
 */
import type { Estimate, LineState, PumpState } from '../../config/wire/wire.ts';
import { SCREENS, type ScreenName } from './screens.ts';

/** Beside every button that would send something. */
export const CANNOT_SEND =
  'Cannot be sent now: the gateway is not heard. It is not kept for later: enter it again once this screen is live.';
export const RELOAD_LOSES = 'Reloading this page without the gateway loses it.';
export const RELOAD_KEEPS = 'This page opens again without the gateway, with the last picture.';

export function missingWords(missing: readonly ScreenName[]): string {
  const words = SCREENS.filter(({ name }) => missing.includes(name)).map(({ word }) => word);
  return `Not on this device: ${words.join(', ')}.`;
}

const LINES: Record<LineState, string> = {
  'rigged-dry': 'dry',
  filling: 'being filled',
  'as-modelled': 'as modelled',
  changed: 'not as modelled',
  'running-short': 'at low pressure',
  'running-over': 'at high pressure',
  down: 'failed',
  'shut-by-order': 'shut by order',
  unknown: 'not known',
};

const PUMPS: Record<PumpState, string> = {
  stopped: 'stopped',
  starting: 'starting',
  running: 'running',
  'dead-head': 'DEADHEADED: stay away',
  unknown: 'not known',
};

/** `at 14:07 it was as modelled`. */
export function lineThen(state: LineState | undefined, time: string): string {
  return `at ${time} it was ${LINES[state ?? 'unknown']}`;
}

export function pumpThen(state: PumpState | undefined, time: string): string {
  return `at ${time} it was ${PUMPS[state ?? 'unknown']}`;
}

/** A time left is told as a moment, so that it does not run down as if it were still true. */
export function estimateThen(
  { best, low, high }: Estimate,
  ofMs: number,
  clock: (atMs: number) => string,
  what: string,
): string {
  const at = (seconds: number): string => clock(ofMs + 1_000 * seconds);
  return `at ${clock(ofMs)}: ${what} at about ${at(best)} (${at(low)} to ${at(high)}), if nothing has changed`;
}
