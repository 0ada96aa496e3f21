/** Walk-round says how long a baseline takes here. */
import { expect, it } from 'vitest';
import { steadyWords } from '../../ui/words/steady.ts';

it('says how far it is, that slow gauges make it longer, and when it is enough', () => {
  expect(steadyWords({ heldS: 4, neededS: 25 })).toBe('The pumps have held still for 4 of 25 s.');
  expect(steadyWords({ heldS: 4, neededS: 90 })).toContain('4 of 90 s. That long because gauges here are read seldom.');
  expect(steadyWords({ heldS: 90, neededS: 90 })).toContain('long enough for a baseline');
});
