/**
 * Wetting of a zone with overlap: two full circles share a lens of area 2 r^2 acos(d/2r) - d/2 sqrt(4 r^2 - d^2) (plane
 * geometry), a half circle is half of one, and no head at all wets nothing.
 */
import { describe, expect, it } from 'vitest';
import { zoneWetting } from '../../gateway/core/hydraulics/zone-wetting.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';

const FLOW_M3S = 3e-4;

function zone(apartM: number, arcDeg = 360, facingDeg = 0) {
  const layout = new LayoutBuilder()
    .tank('tank')
    .place('p0', 0)
    .place('a', 0)
    .pump('pump', 'tank', 'p0')
    .hose('h', 'p0', 'a')
    .head('h-1', 'a')
    .head('h-2', 'a')
    .build();
  const heads = layout.heads.map((head, i) => ({
    ...head,
    xM: i * apartM,
    yM: 0,
    arcDeg,
    facingDeg,
    zone: 'eave' as const,
    structure: layout.structures[0]!.id,
  }));
  return {
    throwM: heads[0]!.kit.throwM,
    found: zoneWetting(
      { ...layout, heads },
      heads.map(() => FLOW_M3S),
    ),
  };
}

describe('two heads of one zone', () => {
  it('overlap in a lens', () => {
    const { throwM: r, found } = zone(8);
    const lensM2 = 2 * r * r * Math.acos(8 / (2 * r)) - (8 / 2) * Math.sqrt(4 * r * r - 64);
    const unionM2 = 2 * Math.PI * r * r - lensM2;
    expect(found).toHaveLength(1);
    expect(found[0]!.areaM2 / unionM2).toBeCloseTo(1, 1);
    expect(found[0]!.overlapShare / (lensM2 / unionM2)).toBeCloseTo(1, 1);
    expect(found[0]!.rateMps / ((2 * FLOW_M3S) / unionM2)).toBeCloseTo(1, 1);
    expect(found[0]!.toTargetS! / ((0.01 * unionM2) / (2 * FLOW_M3S))).toBeCloseTo(1, 1);
    expect(found[0]!.evennessPercent).toBeLessThan(100);
  });

  it('on one spot wet one circle, evenly; half circles that look the same way wet half of it', () => {
    const whole = zone(0);
    expect(whole.found[0]!.overlapShare).toBe(1);
    expect(whole.found[0]!.evennessPercent).toBeCloseTo(100, 9);
    const half = zone(0, 180, 90);
    expect(half.found[0]!.areaM2 / (0.5 * Math.PI * half.throwM ** 2)).toBeCloseTo(1, 1);
  });

  it('without water wet nothing', () => {
    const layout = new LayoutBuilder()
      .tank('tank')
      .place('p0', 0)
      .place('a', 0)
      .pump('pump', 'tank', 'p0')
      .hose('h', 'p0', 'a')
      .head('h-1', 'a')
      .build();
    expect(zoneWetting(layout, [0])).toEqual([]);
  });
});
