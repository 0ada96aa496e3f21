/**
 * The smallest set of places that the sensors could narrow a fault down to, with everything else known.
 *
 * In: layout, seed, throttle, the fault's deed. Out: how many places hold 90 % of the probability. Each place of the
 * same line is given the same fault in a plant of the same seed; what its shift of the noiseless readings is from the
 * true one, whitened by sensor noise over a baseline of 60 and a look of 30 readings, gives exp(-d2 / 2). Sizes are
 * free where the kit does not fix them (the best scale, in closed form), else known to 12 %. Method: maximum likelihood
 * over hypotheses; with drift and unknown hoses on top no diagnosis can do better, most must do worse.
 */
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import { Deeds, type Deed } from '../../simulator/events.ts';
import { Plant } from '../../simulator/plant.ts';

const SETTLE_S = 20;
const BASELINE_READINGS = 60;
const LOOK_READINGS = 30;
const FIXED_SPREAD = 0.12;
const COVER = 0.9;
/** Faults whose size the kit fixes. */
const FIXED = ['head-off', 'hose-burst', 'hose-burned', 'gate-shut'];

/**
 * What the sensors could tell of a fault, with everything else known.
 *
 * `set`: how many places hold 90 % of the probability; null: the fault has no place among others. `standsOut`: how far
 * the readings move, in standard deviations of their noise together (the length of the whitened shift). Below
 * STANDS_OUT_SD the odds for any cause stay under what they must win by.
 */
export interface Bound {
  readonly set: number | null;
  readonly standsOut: number;
}

/** sqrt(2 ln(200 / 1e-4)): odds of 200 to 1 against a prior of one in ten thousand, as the gateway has them. */
export const STANDS_OUT_SD = Math.sqrt(2 * Math.log(200 / 1e-4));

export function boundOf(layout: Layout, seed: number, throttle: number, deed: Omit<Deed, 'do'>): Bound | null {
  const plant = new Plant(layout, seed);
  plant.prime(throttle);
  plant.conditions.sourceGainM3s.fill(plant.pumpFlowM3s[0]!);
  const deeds = new Deeds(plant);
  const before = readings(layout, plant);
  const shiftOf = (at: string): number[] | null => {
    if (deeds.carry({ ...deed, at, do: 'start' }, 0) !== null) return null;
    // Long enough after its start that even what creeps is all there.
    deeds.second(1e9);
    plant.advance(SETTLE_S);
    const shift = readings(layout, plant).map((value, index) => value - before[index]!);
    deeds.carry({ ...deed, at, do: 'repair' }, 0);
    plant.advance(SETTLE_S);
    return shift;
  };
  const truth = deed.at === undefined ? null : shiftOf(deed.at);
  if (!truth) return null;
  const standsOut = Math.hypot(...truth);
  const places = alternatives(layout, deed);
  if (places.length === 0) return { set: null, standsOut };
  const shifts = places.map((at) => (at === deed.at ? truth : shiftOf(at)));
  const weights = shifts
    .flatMap((shift) => (shift ? [Math.exp(-0.5 * distance2(truth, shift, FIXED.includes(deed.what)))] : []))
    .sort((a, b) => b - a);
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  let covered = 0;
  return { set: 1 + weights.findIndex((weight) => (covered += weight / total) >= COVER), standsOut };
}

function alternatives(layout: Layout, { at }: Omit<Deed, 'do'>): string[] {
  for (const list of [layout.heads, layout.hoses, layout.gates] as const) {
    const own = list.find(({ id }) => id === at);
    if (own) return list.filter(({ line }) => line === own.line).map(({ id }) => id);
  }
  return [];
}

/**
 * What every sensor of pressure or flow would read without error, in its own noise of a baseline and a look together.
 */
function readings(layout: Layout, plant: Plant): number[] {
  const scale = Math.sqrt(1 / BASELINE_READINGS + 1 / LOOK_READINGS);
  return layout.sensors
    .filter(({ quantity }) => quantity === 'pressure' || quantity === 'flow')
    .map((sensor) => valueOf(layout, plant, sensor) / (sensor.noiseSd * scale));
}

/** What a sensor would read without error. */
export function valueOf(layout: Layout, plant: Plant, { mounting, quantity }: Sensor): number {
  if (mounting.kind === 'source') return plant.levelM(layout.sources.findIndex(({ id }) => id === mounting.source));
  if (mounting.kind === 'place') return plant.pressurePa[layout.places.findIndex(({ id }) => id === mounting.place)]!;
  if (!('pump' in mounting)) return 0;
  const pump = layout.pumps.findIndex(({ id }) => id === mounting.pump);
  if (quantity === 'flow') return plant.pumpFlowM3s[pump]!;
  if (quantity === 'rotation') return plant.speedRatio[pump]! * layout.pumps[pump]!.kit.ratedRotationHz;
  if (quantity === 'fuel') return plant.fuelM3[pump]!;
  if (mounting.kind === 'suction') return plant.suctionPa[pump]!;
  return plant.pressurePa[layout.places.findIndex(({ id }) => id === layout.pumps[pump]!.outlet)]!;
}

/** Least squared distance of `truth` from a scaled `shift`, the scale free or known to FIXED_SPREAD. */
function distance2(truth: readonly number[], shift: readonly number[], fixed: boolean): number {
  const dot = (a: readonly number[], b: readonly number[]): number =>
    a.reduce((sum, value, index) => sum + value * b[index]!, 0);
  const tight = fixed ? FIXED_SPREAD ** -2 : 0;
  const scale = (dot(truth, shift) + tight) / (dot(shift, shift) + tight);
  return truth.reduce((sum, value, index) => sum + (value - scale * shift[index]!) ** 2, 0) + tight * (scale - 1) ** 2;
}
