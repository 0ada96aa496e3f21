/**
 * A reading is held against what was expected when it was measured, not when it came. Arithmetic, and the core against
 * the plant.
 */
import { describe, expect, it } from 'vitest';
import { TimeAlignedResiduals } from '../../gateway/core/diagnosis/residuals/time-aligned-residuals.ts';

/** A boundary a second, under which one gauge should read 1000 times the second. */
function expected(untilS: number): TimeAlignedResiduals {
  const own = new TimeAlignedResiduals();
  for (let second = 1; second <= untilS; second += 1) own.file(1_000 * second, Float64Array.of(1_000 * second));
  return own;
}

const residual = (own: TimeAlignedResiduals, value: number, measuredMs: number): number =>
  own.residuals({
    atMs: measuredMs,
    fresh: Float64Array.of(value),
    measuredMs: Float64Array.of(measuredMs),
    boundaryEveryMs: 1_000,
  })[0]?.value ?? NaN;

describe('a reading that the road held back', () => {
  it('is held against the boundary of its own second', () => {
    const own = expected(60);
    expect(residual(own, 60_007, 60_050)).toBe(7);
    expect(residual(own, 57_007, 57_050)).toBe(7);
  });

  it('is left out if it is older than what is remembered, as one of a backlog is', () => {
    expect(residual(expected(60), 5_000, 5_000)).toBeNaN();
  });

  it('is held against the newest boundary if its clock runs ahead, or the boundary was not heard since', () => {
    const own = expected(60);
    expect(residual(own, 60_003, 63_000)).toBe(3);
    own.file(60_000, Float64Array.of(60_500));
    expect(residual(own, 60_503, 60_000)).toBe(3);
  });

  it('is held against the boundary of its own second, also when the newest is told anew every second since', () => {
    const own = expected(3);
    for (let time = 0; time < 8; time += 1) own.file(3_000, Float64Array.of(3_000 + time));
    expect(residual(own, 1_007, 1_050)).toBe(7);
  });

  it('is nothing where nothing came, or after it was cleared', () => {
    const own = expected(60);
    expect(residual(own, NaN, 60_000)).toBeNaN();
    own.clear();
    own.file(90_000, Float64Array.of(1));
    expect(residual(own, 60_000, 60_000)).toBeNaN();
  });
});

describe('a pump that is heard every ten seconds', () => {
  const BOX_S = 10;
  const frame = (atS: number, readings: readonly (readonly [number, number])[] = []) => ({
    atMs: 1_000 * atS,
    fresh: Float64Array.from([0, 1], (gauge) => readings[gauge]?.[1] ?? NaN),
    measuredMs: Float64Array.from([0, 1], (gauge) => 1_000 * (readings[gauge]?.[0] ?? 0)),
    boundaryEveryMs: 1_000 * BOX_S,
  });
  const told = (own: TimeAlignedResiduals, fromMs: number, value: number): void =>
    own.file(fromMs, Float64Array.of(value, value));

  it('a reading waits for the next boundary, and is held against what lies between two that agree', () => {
    const own = new TimeAlignedResiduals();
    told(own, 10_000, 100_000);
    expect(own.residuals(frame(15, [[15, 100_503]]))).toEqual([]);
    told(own, 20_000, 101_000);
    expect(own.residuals(frame(20))).toEqual([{ gauge: 0, atMs: 15_000, value: 3 }]);
    expect(own.residuals(frame(21)), 'once').toEqual([]);
  });

  it('says nothing between two that do not agree, but beside one it does', () => {
    const own = new TimeAlignedResiduals();
    told(own, 10_000, 100_000);
    own.residuals(frame(15, [[15, 60_000]]));
    own.residuals(
      frame(19, [
        [19, 50_000],
        [19.5, 50_007],
      ]),
    );
    told(own, 20_000, 50_000);
    expect(own.residuals(frame(20))).toEqual([
      { gauge: 0, atMs: 19_000, value: 0 },
      { gauge: 1, atMs: 19_500, value: 7 },
    ]);
  });

  it('counts what came between two boundaries as one reading, for it shares their noise', () => {
    const own = new TimeAlignedResiduals();
    told(own, 10_000, 100_000);
    for (const [second, off] of [
      [12, 1],
      [14, 2],
      [16, 6],
    ] as const)
      own.residuals(frame(second, [[second, 100_000 + off]]));
    told(own, 20_000, 100_000);
    expect(own.residuals(frame(20))).toEqual([{ gauge: 0, atMs: 16_000, value: 3 }]);
  });
});
