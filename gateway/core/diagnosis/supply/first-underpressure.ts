/**
 * Which head falls first below the pressure that turns it while a tank empties, and at what level.
 *
 * In: the lay as believed, with the causes found in it, the measured boundary, the tank, the heads that work now (null:
 * by the model). Out: head and depth of water,
 * m, with its range; null when every head that turns now goes on turning until the suction runs dry. Method: a lower
 * tank takes the same off the pump's suction; what that costs each head is the difference of two solves with the pump
 * at its present speed (its governor at work if it has one), taken off what the head has now. Bisection on the level.
 * Limit: a pump whose speed nobody measures is taken at the throttle of the layout.
 */
import { GREATEST_SPEED, solveGoverned } from '../../hydraulics/governor.ts';
import { depthAtVolume, sourceDepthM, volumeAtDepth } from '../../hydraulics/source.ts';
import type { ParameterEstimate } from '../model/parameter-estimate.ts';
import type { Change, Expectation, Prediction } from '../model/expectation.ts';
import type { Boundary } from '../model/gauge.ts';

export interface FirstShort {
  readonly head: string;
  readonly levelM: number;
  /** The same if the head has less, or more, than the model says; `lowM` is where the suction runs dry at the least. */
  readonly highM: number;
  readonly lowM: number;
}

const ROUNDS = 12;
/** Judgement: the pressure at a nozzle is known to so much of it (twice its standard deviation): nobody measures it. */
const NOZZLE_SHARE = 0.06;

export function firstShort(
  expectation: Expectation,
  belief: ParameterEstimate,
  boundary: Boundary,
  present: Prediction,
  changes: readonly Change[],
  source: number,
  works: ReadonlySet<string> | null = null,
): FirstShort | null {
  const { layout, network } = expectation;
  const { shape, usable } = layout.sources[source]!;
  const nowM = boundary.levelM[source]!;
  if (shape.kind === 'open-water' || !Number.isFinite(nowM)) return null;
  const dryM = depthAtVolume(shape, (1 - usable) * volumeAtDepth(shape, sourceDepthM(shape))!)!;
  if (nowM <= dryM) return null;

  const settings = expectation.settings(belief, boundary);
  for (const change of changes) change(settings);
  layout.pumps.forEach((pump, index) => {
    const ratio = boundary.speedRatio[index]!;
    if (settings.pumpSpeed[index]! > 0) settings.pumpSpeed[index] = Number.isFinite(ratio) ? ratio : pump.speed;
    settings.dischargePa[index] = NaN;
  });
  const held = Float64Array.from(layout.pumps, (pump) => pump.holdsPa ?? NaN);
  const atLevel = (levelM: number): Float64Array | null => {
    const sourceLevelM = settings.sourceLevelM.slice();
    sourceLevelM[source] = levelM;
    const { solution } = solveGoverned(network, { ...settings, sourceLevelM }, held, GREATEST_SPEED, present.solution);
    return solution.converged ? solution.pressurePa : null;
  };
  const now = atLevel(nowM);
  if (!now) return null;
  const heads = layout.heads
    .filter(({ id }) => works === null || works.has(id))
    .map(({ id, kit }) => ({
      id,
      turnPa: kit.turnPaMin,
      node: network.nodeOfHead.get(id)!,
      spare: present.solution.pressurePa[network.nodeOfHead.get(id)!]! - kit.turnPaMin,
    }))
    .filter(({ spare }) => spare >= 0);
  /**
   * The head that is furthest below at this level, if all have this share of their least pressure more than modelled;
   * null: none is.
   */
  const worst = (levelM: number, more: number): string | null => {
    const pressurePa = atLevel(levelM);
    if (!pressurePa) return null;
    const left = heads
      .map(({ id, node, spare, turnPa }) => ({ id, spare: spare + more * turnPa + pressurePa[node]! - now[node]! }))
      .sort((a, b) => a.spare - b.spare)[0];
    return left && left.spare < 0 ? left.id : null;
  };
  const search = (more: number): { head: string | null; levelM: number } => {
    let head = worst(dryM, more);
    if (head === null) return { head, levelM: dryM };
    let [low, high] = [dryM, nowM];
    for (let round = 0; round < ROUNDS; round += 1) {
      const middle = (low + high) / 2;
      const found = worst(middle, more);
      if (found === null) high = middle;
      else [low, head] = [middle, found];
    }
    return { head, levelM: high };
  };
  const { head, levelM } = search(0);
  return head === null
    ? null
    : { head, levelM, highM: search(-NOZZLE_SHARE).levelM, lowM: search(NOZZLE_SHARE).levelM };
}
