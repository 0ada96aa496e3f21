/** What structures received: sums against numbers worked by hand; unknown time is never wet and never dry. */
import { expect, it } from 'vitest';
import type { HeadPicture } from '../../config/wire/wire.ts';
import { WaterTally } from '../../gateway/core/diagnosis/states/water-tally.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const { id } = layout.structures[0]!;
const own = layout.heads.filter((head) => head.structure === id);

function heads(state: HeadPicture['state'], flowM3s: number | null): HeadPicture[] {
  return layout.heads.map((head) => ({ head: head.id, state, pressurePa: null, flowM3s, seenTurningMs: null }));
}

const tallyOf = (tally: WaterTally) =>
  tally.of({ structure: id, state: 'unknown', why: '', flowM3s: null, tally: null }).tally!;

it('counts water, dry and unknown seconds from the first water on', () => {
  const tally = new WaterTally(layout);
  for (let second = 0; second < 50; second += 1) tally.second(second * 1_000, heads('dry', null));
  expect(tallyOf(tally)).toMatchObject({ sinceMs: null, receivedM3: 0, depthM: 0, dryS: 0, shortS: 0, unknownS: 0 });
  for (let second = 50; second < 650; second += 1) tally.second(second * 1_000, heads('flowing', 2e-4));
  for (let second = 650; second < 680; second += 1) tally.second(second * 1_000, heads('unknown', null));
  for (let second = 680; second < 700; second += 1) tally.second(second * 1_000, heads('dry', 0));
  const mixed = heads('flowing', 2e-4).map((head, index) =>
    layout.heads[index] === own[0] ? { ...head, state: 'plugged?' as const, flowM3s: 0 } : head,
  );
  for (let second = 700; second < 710; second += 1) tally.second(second * 1_000, mixed);
  const sums = tallyOf(tally);
  expect(sums).toMatchObject({ sinceMs: 50_000, dryS: 20, shortS: 10, unknownS: 30 });
  const waterM3 = 600 * own.length * 2e-4 + 10 * (own.length - 1) * 2e-4;
  expect(sums.receivedM3).toBeCloseTo(waterM3, 9);
  const areaM2 = own.reduce((sum, head) => sum + (Math.PI * head.kit.throwM ** 2 * head.arcDeg) / 360, 0);
  expect(sums.depthM).toBeCloseTo(waterM3 / areaM2, 12);
  expect(sums.zones.map(({ zone }) => zone)).toEqual(
    ['roof', 'eave', 'ground'].filter((zone) => own.some((head) => head.zone === zone)),
  );
  expect(sums.zones.reduce((sum, zone) => sum + zone.receivedM3, 0)).toBeCloseTo(waterM3, 9);
  // Ground under two circles counts once.
  expect(sums.zones.reduce((sum, zone) => sum + zone.areaM2, 0)).toBeLessThan(1.02 * areaM2);
});
