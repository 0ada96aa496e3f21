/**
 * Calibration on a baseline: what the readings of a healthy lay that people have walked say about the estimate.
 *
 * Maximum a posteriori by Gauss-Newton (Tarantola, Inverse Problem Theory, section 3.4, from memory): prior N(mean,
 * P), readings y = h(theta) + noise of one or more steady spells that share every parameter. A gauge beyond HUBER
 * standard deviations counts for less (Huber 1964, from memory). Directions that the sensors cannot pin down stay as
 * wide as the kit leaves them; identifiability.ts says which. It refuses what the layout cannot explain, and names the
 * gauge that disagrees most.
 */
import { show } from '../../../../config/units.ts';
import type { ParameterEstimate } from '../model/parameter-estimate.ts';
import type { Expectation } from '../model/expectation.ts';
import { addBlock } from '../model/gauge-errors.ts';
import type { Boundary } from '../model/gauge.ts';
import { cholesky, dot, projected, solveWith, timesSymmetric } from '../../statistics/gaussian.ts';
import { learnedFrom, type Learned } from './identifiability.ts';

/** Readings averaged over one steady spell. NaN: that gauge had none. */
export interface SteadySpell {
  readonly boundary: Boundary;
  readonly means: Float64Array;
  /** Variance of each mean: sensor noise, shared boundary noise and model error. gauges x gauges. */
  readonly covariance: Float64Array;
}

export type Calibration =
  | { readonly ok: true; readonly belief: ParameterEstimate; readonly words: string; readonly learned: Learned }
  | { readonly ok: false; readonly words: string };

const ITERATIONS = 6;
/** Judgement: past this many standard deviations a gauge cannot be explained by kit tolerances. */
const REFUSE_SD = 4.5;
const HUBER = 2;

/** Spells stacked into one set of readings: what the fit compares. */
interface Stack {
  readonly rows: number;
  readonly jacobian: Float64Array;
  readonly gap: number[];
  readonly noise: Float64Array;
  /** Gauge of each row. */
  readonly gauge: number[];
}

export function calibrate(
  expectation: Expectation,
  prior: ParameterEstimate,
  spells: readonly SteadySpell[],
): Calibration {
  const speaks = (spell: SteadySpell): boolean =>
    expectation.gauges.some(
      ({ kind }, index) => (kind === 'flow' || kind === 'end') && Number.isFinite(spell.means[index]!),
    );
  if (!spells.some(speaks)) {
    return {
      ok: false,
      words: 'No flow and no line-end pressure has been steady for a minute: there is nothing to calibrate on.',
    };
  }
  let belief = prior;
  let weights: number[] = [];
  for (let iteration = 0; iteration < ITERATIONS; iteration += 1) {
    const stack = stackOf(expectation, prior, belief, spells);
    if (!stack) return { ok: false, words: 'The model of this layout has no solution at these readings.' };
    if (iteration === 0) {
      const refusal = refuse(expectation, prior, stack);
      if (refusal) return { ok: false, words: refusal };
      weights = stack.gap.map(() => 1);
    }
    for (let row = 0; row < stack.rows; row += 1) stack.noise[row * stack.rows + row]! /= weights[row]!;
    belief = update(prior, stack);
    weights = stack.gap.map((gap, row) => {
      const shift = dot(
        stack.jacobian.subarray(row * prior.size, (row + 1) * prior.size),
        difference(belief.mean, prior.mean),
      );
      const score = Math.abs(gap - shift) / Math.sqrt(stack.noise[row * stack.rows + row]! * weights[row]!);
      return score > HUBER ? HUBER / score : 1;
    });
  }
  const latest = spells.at(-1)!.boundary;
  return {
    ok: true,
    belief,
    words: told(expectation, prior, belief, latest, spells.length),
    learned: learnedFrom(expectation, prior, belief),
  };
}

function stackOf(
  expectation: Expectation,
  prior: ParameterEstimate,
  belief: ParameterEstimate,
  spells: readonly SteadySpell[],
): Stack | null {
  const parts: Stack[] = [];
  for (const spell of spells) {
    const prediction = expectation.predict(belief, spell.boundary);
    if (!prediction) return null;
    const gauge = expectation.gauges
      .map((_, index) => index)
      .filter((index) => Number.isFinite(spell.means[index]!) && Number.isFinite(prediction.values[index]!));
    const jacobian = rowsOf(expectation.jacobian(belief, spell.boundary, prediction), gauge, prior.size);
    const moved = difference(belief.mean, prior.mean);
    const gap = gauge.map(
      (index, row) =>
        spell.means[index]! -
        prediction.values[index]! +
        dot(jacobian.subarray(row * prior.size, (row + 1) * prior.size), moved),
    );
    const noise = new Float64Array(gauge.length ** 2);
    addBlock(noise, spell.covariance, gauge, expectation.gauges.length);
    parts.push({ rows: gauge.length, jacobian, gap, noise, gauge });
  }
  const rows = parts.reduce((sum, part) => sum + part.rows, 0);
  const stack: Stack = {
    rows,
    jacobian: new Float64Array(rows * prior.size),
    gap: [],
    noise: new Float64Array(rows * rows),
    gauge: [],
  };
  for (const part of parts) {
    const first = stack.gap.length;
    stack.jacobian.set(part.jacobian, first * prior.size);
    stack.gap.push(...part.gap);
    stack.gauge.push(...part.gauge);
    for (let row = 0; row < part.rows; row += 1)
      stack.noise.set(part.noise.subarray(row * part.rows, (row + 1) * part.rows), (first + row) * rows + first);
  }
  return stack;
}

function refuse(
  expectation: Expectation,
  prior: ParameterEstimate,
  { rows, jacobian, gap, noise, gauge }: Stack,
): string | null {
  const spread = projected(jacobian, rows, prior.covariance, prior.size);
  const scores = gap.map(
    (value, row) => Math.abs(value) / Math.sqrt(spread[row * rows + row]! + noise[row * rows + row]!),
  );
  const worst = scores.indexOf(Math.max(...scores));
  if (!(scores[worst]! > REFUSE_SD)) return null;
  const { sensor } = expectation.gauges[gauge[worst]!]!;
  return (
    `The layout cannot explain '${sensor.label}': it is ${scores[worst]!.toFixed(1)} standard deviations ` +
    'from what this lay should give.'
  );
}

function update(prior: ParameterEstimate, { rows, jacobian, gap, noise }: Stack): ParameterEstimate {
  const { size } = prior;
  const spread = projected(jacobian, rows, prior.covariance, size);
  for (let n = 0; n < spread.length; n += 1) spread[n]! += noise[n]!;
  const factor = cholesky(spread, rows);
  const product = timesSymmetric(jacobian, rows, prior.covariance, size);
  const weights = solveWith(factor, gap);
  const mean = Float64Array.from(prior.mean);
  const covariance = Float64Array.from(prior.covariance);
  const columns = Array.from({ length: size }, (_, column) =>
    solveWith(
      factor,
      Float64Array.from({ length: rows }, (_unused, row) => product[row * size + column]!),
    ),
  );
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

function rowsOf(matrix: Float64Array, rows: readonly number[], width: number): Float64Array {
  const out = new Float64Array(rows.length * width);
  rows.forEach((row, at) => out.set(matrix.subarray(row * width, (row + 1) * width), at * width));
  return out;
}

function difference(a: Float64Array, b: Float64Array): Float64Array {
  return Float64Array.from(a, (value, index) => value - b[index]!);
}

/** What the baseline pinned down, in plain words: the typical band of line ends and flow, before and after. */
function told(
  expectation: Expectation,
  prior: ParameterEstimate,
  posterior: ParameterEstimate,
  boundary: Boundary,
  settings: number,
): string {
  const width = (belief: ParameterEstimate, kind: 'flow' | 'end'): number => {
    const prediction = expectation.predict(belief, boundary);
    if (!prediction) return NaN;
    const rows = expectation.gauges
      .map((_, index) => index)
      .filter((index) => expectation.gauges[index]!.kind === kind);
    const spread = projected(
      rowsOf(expectation.jacobian(belief, boundary, prediction), rows, belief.size),
      rows.length,
      belief.covariance,
      belief.size,
    );
    return Math.sqrt(Math.max(...rows.map((_, row) => spread[row * rows.length + row]!)));
  };
  const words = (sd: number, what: 'pressure' | 'flow'): string => {
    const { text, unit } = show(2 * sd, what, expectation.layout.units);
    return `${text} ${unit}`;
  };
  const ends =
    `line ends are now expected to within ${words(width(posterior, 'end'), 'pressure')} (before: ` +
    `${words(width(prior, 'end'), 'pressure')})`;
  const flow =
    `flow to within ${words(width(posterior, 'flow'), 'flow')} (before: ` + `${words(width(prior, 'flow'), 'flow')})`;
  const throttles =
    settings > 1
      ? `at ${settings} throttle settings`
      : 'at one throttle setting; a second one, then this again, tells worn heads from rough hose better';
  return `Calibrated ${throttles}: ${ends}, ${flow}.`;
}
