/** The words for when no picture comes: past tense, with the time they are of, and the warnings that they carry. */
import { describe, expect, it } from 'vitest';
import type { LineState, PumpState } from '../../config/wire/wire.ts';
import {
  CANNOT_SEND,
  estimateThen,
  lineThen,
  missingWords,
  pumpThen,
  RELOAD_KEEPS,
  RELOAD_LOSES,
} from '../../ui/words/not-live.ts';
import { LINE_STATES, PUMP_STATES } from '../../ui/words/states.ts';

const clock = (atMs: number): string => new Date(atMs).toISOString().slice(11, 16);

describe('words without the gateway', () => {
  it.each(Object.keys(LINE_STATES) as LineState[])('a line or structure that was %s: in the past tense', (state) => {
    expect(lineThen(state, '14:07')).toMatch(/^at 14:07 it was [a-z ]+$/);
    expect(lineThen(state, '14:07')).not.toMatch(/\b(is|are|runs|now)\b|running as modelled/);
  });

  it('a pump that was deadheaded keeps its warning', () => {
    expect(pumpThen('dead-head', '14:07')).toBe('at 14:07 it was DEADHEADED: stay away');
    for (const state of Object.keys(PUMP_STATES) as PumpState[])
      expect(pumpThen(state, '14:07')).toMatch(/^at 14:07 it was /);
  });

  it('what nobody told is not known', () => {
    expect(lineThen(undefined, '14:07')).toBe('at 14:07 it was not known');
    expect(pumpThen(undefined, '14:07')).toBe('at 14:07 it was not known');
  });

  it('a time left is a moment with its range and its condition, so that it does not run down', () => {
    const atMs = Date.UTC(2026, 6, 14, 14, 7);
    expect(estimateThen({ best: 1_020, low: 780, high: 1_260 }, atMs, clock, 'empty')).toBe(
      'at 14:07: empty at about 14:24 (14:20 to 14:28), if nothing has changed',
    );
  });

  it('says what cannot be sent, what is missing, and what a reload does', () => {
    expect(CANNOT_SEND).toBe(
      'Cannot be sent now: the gateway is not heard. It is not kept for later: enter it again once ' +
        'this screen is live.',
    );
    expect(RELOAD_LOSES).toBe('Reloading this page without the gateway loses it.');
    expect(RELOAD_KEEPS).toBe('This page opens again without the gateway, with the last picture.');
    expect(missingWords(['what-if', 'pump'])).toBe('Not on this device: Pump, What if.');
  });
});
