/** Volumes of tanks and hoses against published figures, and depth from volume as the way back. */
import { describe, expect, it } from 'vitest';
import type { SourceShape } from '../../config/layout/layout.ts';
import { depthAtVolume, sourceDepthM, volumeAtDepth } from '../../gateway/core/hydraulics/source.ts';
import { FT, INCH, off } from './us-units.ts';

const US_GALLON = 3.785411784e-3;
const box = (lengthM: number, widthM: number, depthM: number): SourceShape => ({
  kind: 'framed-tank',
  lengthM,
  widthM,
  depthM,
});
const onion: SourceShape = { kind: 'frustum-tank', baseRadiusM: 2, topRadiusM: 1.4, depthM: 0.9 };
const dipped: SourceShape = { kind: 'dipped-tank', depthsM: [0.2, 0.5, 1], volumesM3: [0.6, 2, 5] };

describe('source volumes', () => {
  it('box of 5 x 6 x 8 ft: 1,795 US gal (NWCG course FFM, 3.1)', () => {
    expect(off(volumeAtDepth(box(5 * FT, 6 * FT, 8 * FT), 8 * FT)! / US_GALLON, 1795)).toBeLessThan(0.001);
  });

  it('34 in of 5 x 12 ft: 1,272 US gal (NWCG course FFM, 3.1)', () => {
    expect(off(volumeAtDepth(box(5 * FT, 12 * FT, 34 * INCH), 34 * INCH)! / US_GALLON, 1272)).toBeLessThan(0.001);
  });

  it('1,272 US gal in 5 x 12 ft stand 34 in deep (NWCG course FFM, 3.1, the same figures the other way)', () => {
    expect(off(depthAtVolume(box(5 * FT, 12 * FT, 40 * INCH), 1272 * US_GALLON)! / INCH, 34)).toBeLessThan(0.001);
  });

  it('framed tank 3.05 m square: 93.0 L for each centimetre', () => {
    expect(off(volumeAtDepth(box(3.05, 3.05, 0.74), 0.01)!, 0.093)).toBeLessThan(0.001);
  });

  // V = pi h/3 (R1^2 + R1 R2 + R2^2), base 2.0 m narrowing to 1.4 m at 0.9 m; litres by depth, from the formula.
  it.each([
    [0.1, 1215.2],
    [0.2, 2349.4],
    [0.3, 3405.5],
    [0.4, 4386.1],
    [0.5, 5294.2],
    [0.6, 6132.4],
    [0.7, 6903.6],
    [0.8, 7610.6],
    [0.9, 8256.1],
  ])('frustum at %d m: %d L, and back', (depthM, litres) => {
    expect(off(volumeAtDepth(onion, depthM)! * 1000, litres)).toBeLessThan(2e-5);
    expect(depthAtVolume(onion, litres / 1000)).toBeCloseTo(depthM, 4);
  });

  it.each([
    [1, 0.0818],
    [2, 0.1684],
    [4, 0.3597],
    [6, 0.5837],
    [8, 0.8592],
  ])('frustum holding %d m3 stands at %d m', (volumeM3, depthM) => {
    expect(depthAtVolume(onion, volumeM3)).toBeCloseTo(depthM, 4);
  });

  it('a frustum with straight walls is a cylinder', () => {
    const cylinder: SourceShape = { kind: 'frustum-tank', baseRadiusM: 1, topRadiusM: 1, depthM: 2 };
    expect(depthAtVolume(cylinder, Math.PI)).toBeCloseTo(1, 12);
  });

  it('a dip table is read both ways, from an empty floor and never past its last row', () => {
    expect(volumeAtDepth(dipped, 0.1)).toBeCloseTo(0.3, 12);
    expect(volumeAtDepth(dipped, 0.35)).toBeCloseTo(1.3, 12);
    expect(depthAtVolume(dipped, 1.3)).toBeCloseTo(0.35, 12);
    expect(volumeAtDepth(dipped, 3)).toBe(5);
    expect(sourceDepthM(dipped)).toBe(1);
  });

  it('open water has no volume of its own', () => {
    expect(volumeAtDepth({ kind: 'open-water' }, 0)).toBeNull();
    expect(depthAtVolume({ kind: 'open-water' }, 3)).toBeNull();
  });
});
