/**
 * Which head falls first below the pressure that turns it while a tank empties, and at what level.
 *
 * In: the lay as believed, with the causes found in it, the measured boundary, the tank, the heads that work now (null:
 * by the model). Out: head and depth of water, m, with its range; null when every head that turns now goes on turning
 * until the suction runs dry. Method: a lower tank takes the same off the pump's suction; what that costs each head is
 * the difference of two solves with the pump at its present speed (its governor at work if it has one), taken off what
 * the head has now. Bisection on the level. Limit: a pump whose speed nobody measures is taken at the throttle of the
 * layout.
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

/** The lay as it is believed to be now; `present` is its expectation with the changes of the causes found in it. */
export interface LayAsBelieved {
  readonly expectation: Expectation;
  readonly belief: ParameterEstimate;
  readonly boundary: Boundary;
  readonly present: Prediction;
  readonly changes: readonly Change[];
}

/** A head that turns now, and what it has above the least pressure that turns it. */
interface TurningHead {
  readonly id: string;
  readonly node: number;
  readonly turnPa: number;
  readonly sparePa: number;
}

/** Pressures of all nodes with the tank at this level; null: the model has no solution. */
type PressureAt = (levelM: number) => Float64Array | null;

export function firstShort(
  lay: LayAsBelieved,
  source: number,
  works: ReadonlySet<string> | null = null,
): FirstShort | null {
  const { shape, usable } = lay.expectation.layout.sources[source]!;
  const nowM = lay.boundary.levelM[source]!;
  if (shape.kind === 'open-water' || !Number.isFinite(nowM)) return null;
  const dryM = depthAtVolume(shape, (1 - usable) * volumeAtDepth(shape, sourceDepthM(shape))!)!;
  if (nowM <= dryM) return null;

  const pressureAt = pressuresByLevel(lay, source);
  const nowPa = pressureAt(nowM);
  if (!nowPa) return null;
  const heads = turningHeads(lay, works);
  const search = (more: number): { head: string | null; levelM: number } =>
    bisected(dryM, nowM, (levelM) => worstAt(levelM, heads, more, nowPa, pressureAt));
  const { head, levelM } = search(0);
  return head === null
    ? null
    : { head, levelM, highM: search(-NOZZLE_SHARE).levelM, lowM: search(NOZZLE_SHARE).levelM };
}

/** Pumps at their present speed, their governors at work. */
function pressuresByLevel(
  { expectation, belief, boundary, present, changes }: LayAsBelieved,
  source: number,
): PressureAt {
  const { layout, network } = expectation;
  const settings = expectation.settings(belief, boundary);
  for (const change of changes) change(settings);
  layout.pumps.forEach((pump, index) => {
    const ratio = boundary.speedRatio[index]!;
    if (settings.pumpSpeed[index]! > 0) settings.pumpSpeed[index] = Number.isFinite(ratio) ? ratio : pump.speed;
    settings.dischargePa[index] = NaN;
  });
  const held = Float64Array.from(layout.pumps, (pump) => pump.holdsPa ?? NaN);
  return (levelM) => {
    const sourceLevelM = settings.sourceLevelM.slice();
    sourceLevelM[source] = levelM;
    const { solution } = solveGoverned(network, { ...settings, sourceLevelM }, held, GREATEST_SPEED, present.solution);
    return solution.converged ? solution.pressurePa : null;
  };
}

function turningHeads({ expectation, present }: LayAsBelieved, works: ReadonlySet<string> | null): TurningHead[] {
  const { layout, network } = expectation;
  return layout.heads
    .filter(({ id }) => works === null || works.has(id))
    .map(({ id, kit }) => {
      const node = network.nodeOfHead.get(id)!;
      return { id, node, turnPa: kit.turnPaMin, sparePa: present.solution.pressurePa[node]! - kit.turnPaMin };
    })
    .filter(({ sparePa }) => sparePa >= 0);
}

/**
 * The head that is furthest below at this level, if all have this share of their least pressure `more` than modelled;
 * null: none is.
 */
function worstAt(
  levelM: number,
  heads: readonly TurningHead[],
  more: number,
  nowPa: Float64Array,
  pressureAt: PressureAt,
): string | null {
  const pressurePa = pressureAt(levelM);
  if (!pressurePa) return null;
  const worst = heads
    .map(({ id, node, sparePa, turnPa }) => ({ id, left: sparePa + more * turnPa + pressurePa[node]! - nowPa[node]! }))
    .sort((a, b) => a.left - b.left)[0];
  return worst && worst.left < 0 ? worst.id : null;
}

/** The level at which `worst` first names a head on the way from `nowM` down to `dryM`; null: at none. */
function bisected(
  dryM: number,
  nowM: number,
  worst: (levelM: number) => string | null,
): { head: string | null; levelM: number } {
  let head = worst(dryM);
  if (head === null) return { head, levelM: dryM };
  let [low, high] = [dryM, nowM];
  for (let round = 0; round < ROUNDS; round += 1) {
    const middle = (low + high) / 2;
    const found = worst(middle);
    if (found === null) high = middle;
    else [low, head] = [middle, found];
  }
  return { head, levelM: high };
}
