/** What a look says for and against a set of causes. That the chances are judgements is said in inspections.ts. */
import { expect, it } from 'vitest';
import { lookScore, type Inspection } from '../../gateway/core/diagnosis/causes/inspections.ts';
import { hypothesesOf } from '../../gateway/core/diagnosis/causes/causes.ts';
import { gaugesOf } from '../../gateway/core/diagnosis/model/gauge.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const network = buildNetwork(layout);
const hypothesis = hypothesesOf(layout, network, gaugesOf(layout, network)).find(
  ({ cause, place }) => cause === 'leak' && place === 'a-hose-2',
)!;
const found = (what: Inspection['found'], at = 'a-hose-2'): readonly Inspection[] => [{ at, found: what, atMs: 0 }];
const chance = (looks: readonly Inspection[], there: boolean): number =>
  Math.exp(lookScore(looks, there ? [{ hypothesis }] : []));

it('a look names what is there in most cases, overlooks it in some, and is never surer than certain', () => {
  const [named, overlooked, misnamed] = (['leak', 'nothing-wrong', 'plug'] as const).map((what) =>
    chance(found(what), true),
  );
  expect(named).toBeGreaterThan(0.5);
  expect(named! + overlooked!).toBeLessThanOrEqual(1);
  expect(misnamed).toBeLessThan(overlooked!);
});

it('a look at another place, and a sound place found sound, hardly change anything', () => {
  expect(chance(found('nothing-wrong', 'b-hose-2'), true)).toBeCloseTo(1, 1);
  expect(chance(found('leak'), false)).toBeLessThan(0.01);
});
