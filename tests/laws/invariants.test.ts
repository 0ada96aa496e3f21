/** A physics function that is handed what cannot be says so, with its own name and that of the number. */
import { describe, expect, it } from 'vitest';
import {
  airPressurePa,
  judgeSuction,
  npshAvailableM,
  vapourPressurePa,
} from '../../gateway/core/hydraulics/cavitation.ts';
import { frictionResistance, reynoldsPerFlow, velocityPressure } from '../../gateway/core/hydraulics/friction.ts';
import { solveGoverned } from '../../gateway/core/hydraulics/governor.ts';
import { fillTimeS, hoseVolumeM3 } from '../../gateway/core/hydraulics/lay-volume.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { openingK } from '../../gateway/core/hydraulics/nozzle.ts';
import { fitPumpCurve, speedForDuty } from '../../gateway/core/hydraulics/pump-curve.ts';
import { sensitivity } from '../../gateway/core/hydraulics/sensitivity.ts';
import { asRigged } from '../../gateway/core/hydraulics/settings.ts';
import { shockPa, velocityMps } from '../../gateway/core/hydraulics/shock.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import { depthAtVolume, mainsLoss, volumeAtDepth } from '../../gateway/core/hydraulics/source.ts';
import { applicationRateMps, wettedAreaM2 } from '../../gateway/core/hydraulics/wetting.ts';
import { zoneWetting } from '../../gateway/core/hydraulics/zone-wetting.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';

const HOSE = { law: 'hazen-williams', c: 140 } as const;
const BOX = { kind: 'framed-tank', lengthM: 4, widthM: 3, depthM: 1 } as const;
const CURVE = fitPumpCurve([0, 0.01], [1e6, 2e5]);

const layWith = (heads: number) => {
  const builder = new LayoutBuilder().tank('tank').pump('pump', 'tank', 'p0').chain(['p0', 'p1']);
  for (let i = 0; i < heads; i++) builder.head(`h-${i}`, 'p1');
  return buildNetwork(builder.build());
};
const [one, two] = [layWith(1), layWith(2)];

describe('throws with its name and the number', () => {
  it.each<[string, RegExp, () => unknown]>([
    ['frictionResistance', /bore .* not 0/, () => frictionResistance(HOSE, 0, 30)],
    ['frictionResistance', /length .* not -1/, () => frictionResistance(HOSE, 0.04, -1)],
    ['frictionResistance', /hazen-williams .* not NaN/, () => frictionResistance({ ...HOSE, c: NaN }, 0.04, 30)],
    ['frictionResistance', /roughness/, () => frictionResistance({ law: 'darcy-weisbach', roughnessM: -1 }, 0.04, 30)],
    ['boreArea', /bore .* not NaN/, () => velocityPressure(NaN)],
    ['reynoldsPerFlow', /bore .* not 0/, () => reynoldsPerFlow(0, 1e-6)],
    ['reynoldsPerFlow', /viscosity .* not 0/, () => reynoldsPerFlow(0.04, 0)],
    ['openingK', /bore/, () => openingK(-0.01, 0.8)],
    ['openingK', /discharge coefficient .* from 0 to 1, not 1.2/, () => openingK(0.01, 1.2)],
    ['airPressurePa', /altitude/, () => airPressurePa(50_000)],
    ['vapourPressurePa', /temperature/, () => vapourPressurePa(-243.12)],
    ['judgeSuction', /required head .* not 0/, () => judgeSuction(6, 0)],
    ['shockPa', /wave speed/, () => shockPa(NaN, 2)],
    ['mainsLoss', /fall/, () => mainsLoss({ staticPa: 3e5, residualPa: 3e5, residualFlowM3s: 0.01 })],
    ['mainsLoss', /flow/, () => mainsLoss({ staticPa: 4e5, residualPa: 3e5, residualFlowM3s: 0 })],
    ['volumeAtDepth', /depth .* not NaN/, () => volumeAtDepth(BOX, NaN)],
    ['volumeAtDepth', /depth of the full source .* not -1/, () => volumeAtDepth({ ...BOX, depthM: -1 }, 0)],
    ['depthAtVolume', /volume .* not NaN/, () => depthAtVolume(BOX, NaN)],
    ['depthAtVolume', /volume of the full source .* not 0/, () => depthAtVolume({ ...BOX, widthM: 0 }, 1)],
    ['wettedAreaM2', /throw/, () => wettedAreaM2(0, 360)],
    ['wettedAreaM2', /arc .* from 0 to 360, not 400/, () => wettedAreaM2(12, 400)],
    ['applicationRateMps', /area/, () => applicationRateMps(1e-4, -1)],
    ['hoseVolumeM3', /length/, () => hoseVolumeM3(0.04, NaN)],
    ['fillTimeS', /volume/, () => fillTimeS(-1, 1e-3)],
    ['fitPumpCurve', /first flow/, () => fitPumpCurve([-1, 1], [2, 1])],
    ['fitPumpCurve', /shut-off rise/, () => fitPumpCurve([0, 1], [Infinity, 1])],
    ['speedForDuty', /flow/, () => speedForDuty(CURVE, NaN, 1e5)],
    ['speedForDuty', /rise .* not NaN/, () => speedForDuty(CURVE, 1e-3, NaN)],
    ['speedForDuty', /shut-off rise .* not 0/, () => speedForDuty(fitPumpCurve([0, 1], [0, 0]), 1, 1e5)],
    ['zoneWetting', /1 flows for 2 heads/, () => zoneWetting(two.layout, [1e-4])],
    ['solveGoverned', /greatest speed/, () => solveGoverned(one, asRigged(one), Float64Array.of(NaN), 0)],
    ['solveGoverned', /2 pressures for 1 pumps/, () => solveGoverned(one, asRigged(one), Float64Array.of(1, 2), 1)],
    ['solve', /another network/, () => solve(two, asRigged(one))],
    ['solve', /a start of .* links/, () => solve(two, asRigged(two), solve(one, asRigged(one)))],
    ['sensitivity', /a solution of .* links/, () => sensitivity(two, asRigged(two), solve(one, asRigged(one)), [], [])],
  ])('%s: %s', (name, words, call) => {
    expect(call).toThrow(RangeError);
    expect(call).toThrow(new RegExp(`^${name}: `));
    expect(call).toThrow(words);
  });
});

it('a governed pump above a level that nobody knows has no speed, and nothing hangs', () => {
  const settings = asRigged(one);
  settings.sourceLevelM[0] = NaN;
  const { solution, speed } = solveGoverned(one, settings, Float64Array.of(5e5), 1.05);
  expect(solution.suctionPa[0]).toBeNaN();
  expect(solution.headFlowM3s[0]).toBeGreaterThan(0);
  expect(speed[0]).toBeNaN();
});

it('what is worked out of a lay without an answer is no number either, and no error', () => {
  for (const found of [
    npshAvailableM(NaN, 0, 20),
    velocityMps(NaN, 0.04),
    shockPa(300, NaN),
    applicationRateMps(NaN, 100),
  ])
    expect(found).toBeNaN();
});
