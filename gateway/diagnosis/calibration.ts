/**
 * Calibration on a baseline: what the readings of a walked-round, healthy lay say about the belief.
 *
 * Maximum a posteriori by Gauss-Newton (the extended information update; Tarantola, Inverse Problem Theory, section
 * 3.4, from memory): prior N(mean, P), readings y = h(theta) + noise. The posterior covariance keeps every direction
 * that the sensors cannot pin down as wide as the kit leaves it, so nothing is 'fitted' that was not measured.
 * Refuses a baseline that the layout cannot explain, and names the gauge that disagrees most.
 */
import { show } from '../../config/units.ts';
import type { Belief } from './belief.ts';
import type { Expectation } from './expectation.ts';
import type { Boundary } from './gauge.ts';
import { cholesky, dot, projected, solveWith, timesSymmetric } from './gaussian.ts';

/** Readings averaged over one steady spell. NaN: that gauge had none. */
export interface SteadySpell {
  readonly boundary: Boundary;
  readonly means: Float64Array;
  /** Variance of each mean: sensor noise, shared boundary noise and model error. gauges x gauges. */
  readonly covariance: Float64Array;
}

export type Calibration =
  | { readonly ok: true; readonly belief: Belief; readonly words: string }
  | { readonly ok: false; readonly words: string };

const ITERATIONS = 4;
/** Judgement: past this many standard deviations a gauge cannot be explained by kit tolerances. */
const REFUSE_SD = 4.5;

export function calibrate(expectation: Expectation, prior: Belief, spell: SteadySpell): Calibration {
  const used = expectation.gauges.map((_, index) => index).filter((index) => Number.isFinite(spell.means[index]!));
  if (!used.some((index) => expectation.gauges[index]!.kind === 'flow' || expectation.gauges[index]!.kind === 'end')) {
    return { ok: false, words: 'No flow and no line-end pressure has been steady for a minute: there is nothing to calibrate on.' };
  }
  let belief = prior;
  for (let iteration = 0; iteration < ITERATIONS; iteration += 1) {
    const prediction = expectation.predict(belief, spell.boundary);
    if (!prediction) return { ok: false, words: 'The model of this layout has no solution at these readings.' };
    const kept = used.filter((index) => Number.isFinite(prediction.values[index]!));
    const full = expectation.jacobian(belief, spell.boundary, prediction);
    const jacobian = rowsOf(full, kept, prior.size);
    const gap = kept.map((index, row) => spell.means[index]! - prediction.values[index]!
      + dot(jacobian.subarray(row * prior.size, (row + 1) * prior.size), difference(belief.mean, prior.mean)));
    const spread = projected(jacobian, kept.length, prior.covariance, prior.size);
    addBlock(spread, spell.covariance, kept, expectation.gauges.length);
    if (iteration === 0) {
      const refusal = refuse(expectation, kept, gap, spread);
      if (refusal) return { ok: false, words: refusal };
    }
    belief = update(prior, jacobian, kept.length, gap, spread);
  }
  return { ok: true, belief, words: told(expectation, prior, belief, spell.boundary) };
}

function refuse(expectation: Expectation, kept: readonly number[], gap: readonly number[], spread: Float64Array): string | null {
  const scores = gap.map((value, row) => Math.abs(value) / Math.sqrt(spread[row * kept.length + row]!));
  const worst = scores.indexOf(Math.max(...scores));
  if (!(scores[worst]! > REFUSE_SD)) return null;
  const sensor = expectation.gauges[kept[worst]!]!.sensor;
  return `The layout cannot explain '${sensor.label}': it is ${scores[worst]!.toFixed(1)} standard deviations from what this lay should give. `
    + 'Look there first (a head missing, a gate shut, a wrong hose or height in the layout, or that sensor), then take the baseline again.';
}

function update(prior: Belief, jacobian: Float64Array, rows: number, gap: readonly number[], spread: Float64Array): Belief {
  const { size } = prior;
  const factor = cholesky(spread, rows);
  const product = timesSymmetric(jacobian, rows, prior.covariance, size);
  const weights = solveWith(factor, gap);
  const mean = Float64Array.from(prior.mean);
  const covariance = Float64Array.from(prior.covariance);
  const columns = Array.from({ length: size }, (_, column) =>
    solveWith(factor, Float64Array.from({ length: rows }, (_unused, row) => product[row * size + column]!)));
  for (let i = 0; i < size; i += 1) {
    for (let row = 0; row < rows; row += 1) mean[i]! += product[row * size + i]! * weights[row]!;
    for (let j = 0; j <= i; j += 1) {
      let drop = 0;
      for (let row = 0; row < rows; row += 1) drop += product[row * size + i]! * columns[j]![row]!;
      covariance[i * size + j]! -= drop;
      covariance[j * size + i] = covariance[i * size + j]!;
    }
  }
  return { ...prior, mean, covariance };
}

export function rowsOf(matrix: Float64Array, rows: readonly number[], width: number): Float64Array {
  const out = new Float64Array(rows.length * width);
  rows.forEach((row, at) => out.set(matrix.subarray(row * width, (row + 1) * width), at * width));
  return out;
}

/** Adds the block of `wide` (full x full) that belongs to `kept` to `narrow`. */
export function addBlock(narrow: Float64Array, wide: Float64Array, kept: readonly number[], full: number): void {
  kept.forEach((from, row) => kept.forEach((to, column) => {
    narrow[row * kept.length + column]! += wide[from * full + to]!;
  }));
}

function difference(a: Float64Array, b: Float64Array): Float64Array {
  return Float64Array.from(a, (value, index) => value - b[index]!);
}

/** What the baseline pinned down, in plain words: the typical band of line ends and flow, before and after. */
function told(expectation: Expectation, prior: Belief, posterior: Belief, boundary: Boundary): string {
  const width = (belief: Belief, kind: 'flow' | 'end'): number => {
    const prediction = expectation.predict(belief, boundary);
    if (!prediction) return NaN;
    const rows = expectation.gauges.map((_, index) => index).filter((index) => expectation.gauges[index]!.kind === kind);
    const spread = projected(rowsOf(expectation.jacobian(belief, boundary, prediction), rows, belief.size), rows.length, belief.covariance, belief.size);
    return Math.sqrt(Math.max(...rows.map((_, row) => spread[row * rows.length + row]!)));
  };
  const words = (sd: number, what: 'pressure' | 'flow'): string => {
    const { text, unit } = show(2 * sd, what, expectation.layout.units);
    return `${text} ${unit}`;
  };
  const ends = `line ends are now expected to within ${words(width(posterior, 'end'), 'pressure')} (before: ${words(width(prior, 'end'), 'pressure')})`;
  const flow = `flow to within ${words(width(posterior, 'flow'), 'flow')} (before: ${words(width(prior, 'flow'), 'flow')})`;
  return `Calibrated: ${ends}, ${flow}. Which head or hose differs from the kit is not known, only their sum on each line.`;
}
