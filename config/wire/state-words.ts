/** What each state of a line or structure is called: on every screen, in every sentence, sheet and export. */
import type { LineState } from './wire.ts';

export const LINE_STATE_WORDS: Readonly<Record<LineState, string>> = {
  'rigged-dry': 'rigged, dry',
  filling: 'filling',
  'as-modelled': 'running as modelled',
  changed: 'not as modelled',
  'running-short': 'low pressure',
  'running-over': 'high pressure',
  down: 'failed',
  'shut-by-order': 'shut by order',
  unknown: 'unknown',
};

/** Worst first: what makes the state of several together. */
export const WORST_FIRST: readonly LineState[] = [
  'down',
  'running-short',
  'unknown',
  'running-over',
  'changed',
  'filling',
  'shut-by-order',
  'rigged-dry',
  'as-modelled',
];
