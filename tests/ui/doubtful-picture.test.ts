/** A picture that nothing followed may not say anything about now. */
import { describe, expect, it } from 'vitest';
import { doubtful } from '../../ui/state/doubtful-picture.ts';
import { conditionOf } from '../../ui/state/conditions.ts';
import { standing } from '../../ui/words/states.ts';
import { demoSite } from '../support/demo-site.ts';
import { CONDITIONS } from './fixture-conditions.ts';
import { picture } from './fixture.ts';

const { layout } = demoSite();

describe('a picture that has grown old', () => {
  it.each(CONDITIONS)('leaves nothing known of a site that was %s', (condition) => {
    const old = doubtful(picture(layout, condition, 1_800_000_000_000));
    const words = [
      ...layout.lines.map((item) => conditionOf({ kind: 'line', item }, old, layout)),
      ...layout.structures.map((item) => conditionOf({ kind: 'structure', item }, old, layout)),
      ...layout.heads.map((item) => conditionOf({ kind: 'head', item }, old, layout)),
      ...layout.pumps.map((item) => conditionOf({ kind: 'pump', item }, old, layout)),
      ...layout.sources.map((item) => conditionOf({ kind: 'source', item }, old, layout)),
    ].map((state) => state.word);
    expect(new Set(words)).toEqual(new Set(['unknown']));
    expect(old.channels.every((channel) => channel.freshness === 'stale' && standing(channel) === null)).toBe(true);
    expect(
      old.supplies.every((supply) => supply.emptyInS === null) && old.pumps.every((pump) => pump.fuelLeftS === null),
    ).toBe(true);
  });

  it('keeps the alarms and the mark of a simulation', () => {
    const before = picture(layout, 'faulty', 1_800_000_000_000);
    const old = doubtful(before);
    expect(old.alarms).toEqual(before.alarms);
    expect(old.simulated).toBe(true);
  });
});
