/**
 * The sentences that keep people safe: made here once, shown, spoken and exported as they stand.
 *
 * Out: words. tests/alarms/safety-words.test.ts holds each of them, retyped. Common practice, no source. None of them
 * tells anybody to go anywhere.
 */

/** On every screen, in every table and on every message that leaves the machine. */
export const ADVISORY_LINE = 'Advisory only. Sees no fire. Never go because of a reading.';

/** On every card that sends eyes or hands anywhere. */
export const SENDING_LINE =
  'Only if incident command has cleared the area. Let hot engines cool. Bleed the line before opening ' +
  'a coupling or fitting a gauge.';

export const FUEL_LINE = 'Fuel only a stopped engine: let it cool, extinguisher at hand.';

/** Before any move of a gate or a throttle. */
export const IF_COMMAND_AGREES = 'If incident command agrees';

/** At a pump that runs with no flow. */
export const DEADHEAD_WARNING =
  'Stay away from the pump and let it cool. Do not touch couplings: the water inside can scald.';

/** In place of every check at a pump that is a hazard to people, and before those elsewhere on its lay. */
export const STAY_AWAY = 'Stay away from the pump: it has run with no flow, and the water inside can scald.';

const EXERCISE = 'EXERCISE.';

/** What is said, copied or written in a simulated run begins with it; twice is once. */
export function exercised(words: string, simulated: boolean): string {
  return simulated && !words.startsWith(EXERCISE) ? `${EXERCISE} ${words}` : words;
}
