/** What is told of a trouble does not waver: other places or another size must last before they are told. */
import { expect, it } from 'vitest';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';
import { SteadyWords, type Telling } from '../../gateway/core/diagnosis/isolation/steady-words.ts';
import { blankFinding } from '../support/blank-finding.ts';

function leak(place: string, litres: number, cause: Finding['cause'] = 'leak'): Finding {
  const best = litres / 60_000;
  return blankFinding(cause, 'line-a', {
    key: 'outflow:line-a',
    places: [{ id: place, probability: 1 }],
    sizeM3s: { best, low: best, high: best },
  });
}

const STOOD = new Set(['outflow:line-a']);
const at = (atMs: number, rest: Partial<Telling> = {}): Telling => ({
  weaker: false,
  looked: false,
  stood: STOOD,
  atMs,
  ...rest,
});
const placeOf = (findings: readonly Finding[]): string => findings[0]!.places[0]!.id;

it('other places wait eight seconds, and go when the old ones come back', () => {
  const words = new SteadyWords();
  const told = [leak('a-1', 10)];
  expect(placeOf(words.of([leak('a-2', 10)], told, at(0)))).toBe('a-1');
  expect(placeOf(words.of([leak('a-2', 10)], told, at(7_000)))).toBe('a-1');
  expect(placeOf(words.of([leak('a-1', 10)], told, at(7_500)))).toBe('a-1');
  expect(placeOf(words.of([leak('a-2', 10)], told, at(8_000))), 'counts anew').toBe('a-1');
  expect(placeOf(words.of([leak('a-2', 10)], told, at(16_000)))).toBe('a-2');
});

it('so does another size; one that says the same is not told anew', () => {
  const words = new SteadyWords();
  const told = [leak('a-1', 10)];
  expect(words.of([leak('a-1', 11)], told, at(0))[0]!.sizeM3s!.best * 60_000).toBeCloseTo(10, 9);
  expect(words.of([leak('a-1', 14)], told, at(1_000))[0]!.sizeM3s!.best * 60_000).toBeCloseTo(10, 9);
  expect(words.of([leak('a-1', 14)], told, at(9_000))[0]!.sizeM3s!.best * 60_000).toBeCloseTo(14, 9);
});

it('what has not stood, another cause, and what was dropped are told as they are', () => {
  const words = new SteadyWords();
  const told = [leak('a-1', 10)];
  expect(placeOf(words.of([leak('a-2', 10)], told, at(0, { stood: new Set() })))).toBe('a-2');
  expect(placeOf(words.of([leak('a-2', 10)], told, at(0, { looked: true })))).toBe('a-2');
  expect(placeOf(words.of([leak('a-2', 60, 'hose-burst')], told, at(0)))).toBe('a-2');
  words.of([leak('a-2', 10)], told, at(1_000));
  words.of([leak('a-2', 10)], told, at(5_000, { weaker: true }));
  expect(placeOf(words.of([leak('a-2', 10)], told, at(10_000))), 'its wait begins anew').toBe('a-1');
});
