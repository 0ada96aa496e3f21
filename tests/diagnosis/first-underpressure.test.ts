/**
 * Which head falls short first as a tank empties. A head with little to spare is made by hand; how much its pressure
 * falls with the level follows from two solves of the network that are made here. A tank that stands lower by 1 m takes
 * 9.79 kPa off the suction (hydrostatics, water at 20 C), and a pump with a falling curve passes on less than that.
 */
import { describe, expect, it } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import { firstShort, type LayAsBelieved } from '../../gateway/core/diagnosis/supply/first-underpressure.ts';
import { solveGoverned } from '../../gateway/core/hydraulics/governor.ts';
import { siteLayout } from '../support/drive.ts';
import { boundaryOf, modelledLay } from '../support/modelled-lay.ts';

const NOW_M = 0.7;
const SPARE_PA = 2_000;
const cove = siteLayout('larch-cove');

function layAt(layout: Layout, levelM = NOW_M): LayAsBelieved {
  const { expectation, belief } = modelledLay(layout);
  const speedRatio = layout.pumps[0]!.speed;
  const boundary = boundaryOf(layout, { dischargePa: 900_000, suctionPa: 0, speedRatio, levelM });
  return { expectation, belief, boundary, present: expectation.predict(belief, boundary)!, changes: [] };
}

/** With so much less than it has now this head would stand still; any other has plenty. */
function withSpare(head: string, sparePa = SPARE_PA, usable = 1): Layout {
  const { present, expectation } = layAt(cove);
  const now = (id: string): number => present.solution.pressurePa[expectation.network.nodeOfHead.get(id)!]!;
  return {
    ...cove,
    sources: cove.sources.map((source) => ({ ...source, usable })),
    heads: cove.heads.map((one) => ({
      ...one,
      kit: { ...one.kit, turnPaMin: one.id === head ? now(head) - sparePa : 1_000 },
    })),
  };
}

/** What the pump gives this head with its tank at a level, Pa. */
function pressureAt({ expectation, belief, boundary, present }: LayAsBelieved, head: string, levelM: number): number {
  const settings = expectation.settings(belief, boundary);
  const { solution } = solveGoverned(
    expectation.network,
    {
      ...settings,
      pumpSpeed: boundary.speedRatio,
      dischargePa: Float64Array.of(NaN),
      sourceLevelM: Float64Array.of(levelM),
    },
    Float64Array.of(NaN),
    1.1,
    present.solution,
  );
  return solution.pressurePa[expectation.network.nodeOfHead.get(head)!]!;
}

const [HEAD, OTHER] = [cove.heads[0]!.id, cove.heads.at(-1)!.id];

describe('the head that falls short first as the tank empties', () => {
  it.each([HEAD, OTHER])('is %s if that has least to spare, at the level where its spare is gone', (head) => {
    const lay = layAt(withSpare(head));
    const short = firstShort(lay, 0)!;
    expect(short.head).toBe(head);
    const lost = pressureAt(lay, head, NOW_M) - pressureAt(lay, head, short.levelM);
    expect(lost).toBeCloseTo(SPARE_PA, -1.5);
    expect(NOW_M - short.levelM).toBeGreaterThan(SPARE_PA / 9_790);
  });

  it('falls short at another level if its nozzle has a little less or more than modelled', () => {
    const { lowM, levelM, highM } = firstShort(layAt(withSpare(HEAD)), 0)!;
    // Six hundredths of its least pressure are more than it has to spare: it may be short already, or never be.
    expect(highM).toBeCloseTo(NOW_M, 2);
    expect(lowM).toBeLessThan(0.01);
    expect(levelM).toBeGreaterThan(lowM);
    expect(levelM).toBeLessThan(highM);
  });

  it('is none while the suction runs dry before, nor once it has', () => {
    const { levelM } = firstShort(layAt(withSpare(HEAD)), 0)!;
    const source = cove.sources[0]!;
    const depthM = source.shape.kind === 'framed-tank' ? source.shape.depthM : NaN;
    const share = (m: number): number => 1 - m / depthM;
    expect(firstShort(layAt(withSpare(HEAD, SPARE_PA, share(levelM - 0.02))), 0)?.head).toBe(HEAD);
    expect(firstShort(layAt(withSpare(HEAD, SPARE_PA, share(levelM + 0.02))), 0)).toBeNull();
    expect(firstShort(layAt(withSpare(HEAD, SPARE_PA, share(NOW_M + 0.02))), 0)).toBeNull();
  });

  it('is none of those that do not work, nor that stand still already', () => {
    const works = new Set(cove.heads.map(({ id }) => id).filter((id) => id !== HEAD));
    expect(firstShort(layAt(withSpare(HEAD)), 0, works)).toBeNull();
    expect(firstShort(layAt(withSpare(HEAD, -100)), 0)).toBeNull();
  });

  it('is not told of a level that nobody knows, nor of open water', () => {
    expect(firstShort(layAt(withSpare(HEAD), NaN), 0)).toBeNull();
    const lake: Layout = {
      ...withSpare(HEAD),
      sources: cove.sources.map((source) => ({ ...source, shape: { kind: 'open-water' } })),
    };
    expect(firstShort(layAt(lake), 0)).toBeNull();
  });
});
