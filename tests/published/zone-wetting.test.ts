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

function quarter(facingDeg: number) {
  const layout = new LayoutBuilder()
    .tank('tank')
    .pump('pump', 'tank', 'p0')
    .hose('h', 'p0', 'a')
    .head('h-1', 'a')
    .build();
  return { layout, head: { ...layout.heads[0]!, arcDeg: 90, facingDeg } };
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

  // The compass: bearings clockwise from north, plan axes east and north. A spot of 1 m six metres off is overlapped
  // only on the side that the quarter circle looks to.
  it.each([
    [0, 'north', 0, 1],
    [90, 'east', 1, 0],
    [180, 'south', 0, -1],
    [270, 'west', -1, 0],
  ])('a quarter circle that faces %d deg wets to the %s', (facingDeg, _, east, north) => {
    const share = (xM: number, yM: number): number => {
      const { head, layout } = quarter(facingDeg);
      const spot = { ...head, xM, yM, arcDeg: 360, facingDeg: 0, kit: { ...head.kit, throwM: 1 } };
      return zoneWetting({ ...layout, heads: [head, spot] }, [FLOW_M3S, FLOW_M3S])[0]!.overlapShare;
    };
    expect(share(6 * east, 6 * north)).toBeGreaterThan(0);
    expect(share(-6 * east, -6 * north)).toBe(0);
    expect(share(6 * north, 6 * east)).toBe(0);
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
