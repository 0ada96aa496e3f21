/**
 * One trouble, one alarm: names that follow one another within seconds are one, and what people explained is over.
 * Common practice, no source.
 */
import { expect, it } from 'vitest';
import { keyOf } from '../../gateway/core/diagnosis/causes/hypothesis.ts';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';
import { FindingTracker } from '../../gateway/core/diagnosis/isolation/finding-tracker.ts';
import type { Cause } from '../../config/wire/wire.ts';
import { blankFinding } from '../support/blank-finding.ts';

const named = (cause: Cause, subject: string): Finding => blankFinding(cause, subject, { key: keyOf(cause, subject) });

const keys = (findings: readonly Finding[]): string[] => findings.map(({ key }) => key);

it('a leak of the trunk that proves to be one of a line stays one trouble, and one of another family is another', () => {
  const troubles = new FindingTracker();
  const [first] = troubles.follow([named('leak', 'trunk')], 1_000, 5_000);
  const [second] = troubles.follow([named('hose-burst', 'line-a')], 4_000, 7_000);
  expect(second).toMatchObject({ key: first!.key, sinceMs: 1_000, cause: 'hose-burst', subject: 'line-a' });
  expect(keys(troubles.follow([named('plug', 'line-a')], 8_000, 9_000))).toEqual(['blocked:line-a']);
});

it('a true second trouble has a key of its own, also one with the name that the first once had', () => {
  const troubles = new FindingTracker();
  troubles.follow([named('leak', 'trunk')], 1_000, 5_000);
  troubles.follow([named('leak', 'line-a')], 1_000, 6_000);
  const both = troubles.follow([named('leak', 'line-a'), named('leak', 'trunk')], 20_000, 22_000);
  expect(keys(both)).toEqual(['outflow:trunk', 'outflow:trunk:2']);
  expect(both.map(({ sinceMs }) => sinceMs)).toEqual([1_000, 20_000]);
});

it('what is named on another line as one ends is another trouble, whatever its family', () => {
  const troubles = new FindingTracker();
  troubles.follow([named('head-off', 'line-b')], 1_000, 5_000);
  const next = troubles.follow([named('hose-burst', 'line-f')], 8_000, 9_000);
  expect(next).toMatchObject([{ key: 'outflow:line-f', sinceMs: 8_000 }]);
  expect(troubles.stands('outflow:line-f')).toBe(true);
  expect(troubles.stands('outflow:line-b'), 'it is named no more').toBe(false);
});

it('what ended a while ago is not taken up by the next, and what was explained neither', () => {
  const troubles = new FindingTracker();
  troubles.follow([named('leak', 'line-a')], 1_000, 5_000);
  troubles.follow([], 10_000, 12_000);
  expect(keys(troubles.follow([named('leak', 'line-b')], 30_000, 31_000))).toEqual(['outflow:line-b']);
  troubles.follow([], 32_000, 33_000);
  expect(troubles.follow([named('leak', 'line-b')], 60_000, 61_000), 'nothing was judged between').toMatchObject([
    { key: 'outflow:line-b', sinceMs: 60_000 },
  ]);
  troubles.forget(-Infinity);
  expect(keys(troubles.follow([named('leak', 'line-c')], 62_000, 63_000))).toEqual(['outflow:line-c']);
});

it('only what was named for ten seconds has stood', () => {
  const troubles = new FindingTracker();
  troubles.follow([named('leak', 'line-a')], 0, 5_000);
  expect([...troubles.stood(14_000)]).toEqual([]);
  expect([...troubles.stood(16_000)]).toEqual(['outflow:line-a']);
  troubles.follow([], 0, 17_000);
  expect([...troubles.stood(18_000)]).toEqual([]);
});

it('while evidence recedes a name of its kin elsewhere is another trouble', () => {
  const troubles = new FindingTracker();
  troubles.follow([named('head-off', 'line-b')], 1_000, 5_000);
  expect(keys(troubles.follow([named('leak', 'trunk')], 30_000, 32_000, false))).toEqual(['outflow:trunk']);
});
