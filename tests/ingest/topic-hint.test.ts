/** Which topics of a shared broker are ours misspelt, and what would be right. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { RefusedTopics } from '../../gateway/ingest/transport/refused-topics.ts';
import { isOfAnotherSite, nearestTopic } from '../../gateway/ingest/transport/topic-hint.ts';

const RIGHT = { site: 'quarry-road', devices: ['pump-box', 'end-a', 'end-b'] };
const [heard, unheard] = [() => true, () => false];

describe('on a broker that other sites share', () => {
  it.each([
    ['wetdown/quarry_road/pump-box/senml', true],
    ['wetdown/Quarry-Road/pump-box/senml', true],
    ['wetdown/QUARRY ROAD/anything', true],
    ['wetdown/quarry-road/pump-box/SenML', true],
    ['wetdown/quarry-road/pump-box', true],
    ['wetdown/quarry-raod/pump-box/senml', true],
    ['wetdown/pump-box/senml', true],
    ['wetdown/quarry-road-2/pump-box/senml', false],
    ['wetdown/larch-cove/pump-box/senml', false],
    ['wetdown/larch-cove/pump-box/SenML', false],
    ['wetdown/larch-cove/simulation', false],
    ['wetdown/larch-cove', false],
    ['wetdown', false],
    ['greenhouse/7', false],
  ])('%s is ours: %s', (topic, ours) => {
    expect(isOfAnotherSite(topic, RIGHT, unheard)).toBe(!ours);
  });

  it('a site of nearly the same name is another one, as soon as our own device has been heard on its right topic', () => {
    expect(isOfAnotherSite('wetdown/quarry-raod/pump-box/senml', RIGHT, heard)).toBe(true);
    expect(isOfAnotherSite('wetdown/pump-box/senml', RIGHT, heard)).toBe(true);
    expect(isOfAnotherSite('wetdown/quarry-raod/tank-box/senml', RIGHT, unheard)).toBe(true);
    expect(isOfAnotherSite('wetdown/quarry_road/pump-box/senml', RIGHT, heard)).toBe(false);
  });
});

describe('the hint', () => {
  it('names the account that sent it, as far as that is a device here', () => {
    expect(nearestTopic('wetdown/quarry-road/senml', RIGHT, 'end-b')).toBe('wetdown/quarry-road/end-b/senml');
    expect(nearestTopic('wetdown/quarry-road/pump-box/senml', RIGHT, 'end-b')).toBe('wetdown/quarry-road/end-b/senml');
  });

  it('is always a topic that would be heard, never the one that was sent, whatever was sent', () => {
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string({ maxLength: 200 }),
          fc
            .array(fc.oneof(fc.constantFrom('wetdown', 'quarry-road', 'pump-box', 'senml', 'Status', ''), fc.string()))
            .map((levels) => levels.join('/')),
        ),
        (topic) => {
          const hint = nearestTopic(topic, RIGHT, null);
          if (hint === null) return;
          expect(hint).not.toBe(topic);
          expect(hint).toMatch(/^wetdown\/quarry-road\/([a-z0-9-]+|DEVICE)\/(senml|status)$/);
        },
      ),
      { numRuns: 2_000 },
    );
  });
});

it('a topic that came twice is kept beside thousands that came once, with its count', () => {
  const topics = new RefusedTopics();
  topics.count('wetdown/quarry_road/end-a/senml', null, 1);
  topics.count('wetdown/quarry_road/end-a/senml', null, 2);
  for (let number = 0; number < 5_000; number += 1) topics.count(`flood/${number}`, null, 3);
  expect(topics.picture.map(({ topic, count }) => [topic, count]).slice(0, 2)).toEqual([
    ['wetdown/quarry_road/end-a/senml', 2],
    ['flood/4999', 1],
  ]);
  expect(topics.picture).toHaveLength(20);
});
