/**
 * Which causes are worth fitting to what is left of the residuals: all of one size, and of every kind of sized cause
 * the few whose slope points best along it.
 *
 * In: the likelihood (evidence, whitening), the causes of the lay, what is left of the residuals. Out: causes with the
 * size to start from. Slopes are derivatives at size zero, from one factorisation of the network.
 */
import type { Hypothesis, Slope } from '../causes/hypothesis.ts';
import { sensitivity, type Observable } from '../../hydraulics/sensitivity.ts';
import { dot } from '../../statistics/gaussian.ts';
import type { SetLikelihood } from './set-likelihood.ts';

/** Judgement: of one kind of cause so many places are fitted. */
const MOST_PLACES = 8;

export interface Listed {
  readonly hypothesis: Hypothesis;
  readonly start: number;
}

interface Sloped {
  readonly hypothesis: Hypothesis;
  readonly slope: Slope;
}

export function shortlist(
  likelihood: SetLikelihood,
  hypotheses: readonly Hypothesis[],
  left: Float64Array,
): readonly Listed[] {
  const sloped = hypotheses.flatMap((hypothesis): Sloped[] => {
    const slope = slopeOf(hypothesis);
    return slope ? [{ hypothesis, slope }] : [];
  });
  const gains = gainsOf(likelihood, sloped, likelihood.whitened(left));
  const kinds = new Set(gains.map(({ hypothesis }) => hypothesis.cause));
  return [
    ...[...kinds].flatMap((cause) =>
      gains
        .filter(({ hypothesis, gain }) => hypothesis.cause === cause && gain > 0)
        .sort((a, b) => b.gain - a.gain)
        .slice(0, MOST_PLACES),
    ),
    ...[...hypotheses, ...likelihood.evidence.ordered].flatMap((hypothesis) =>
      slopeOf(hypothesis) ? [] : [{ hypothesis, start: 1 }],
    ),
  ];
}

function slopeOf({ effect }: Hypothesis): Slope | null {
  return effect.kind === 'network' ? effect.slope : null;
}

/** Of each cause: the best size on its slope, and by how much of the residual's square that explains. */
function gainsOf(
  likelihood: SetLikelihood,
  causes: readonly Sloped[],
  white: Float64Array,
): (Listed & { readonly gain: number })[] {
  const { expectation, evidence } = likelihood;
  const { gauges, network } = expectation;
  const rows = evidence.observedGauges
    .map((gauge, row) => ({ gauge: gauges[gauge]!, row }))
    .filter(({ gauge }) => gauge.kind === 'end' || gauge.kind === 'flow');
  const observables = rows.map(({ gauge }): Observable =>
    gauge.kind === 'end' ? { kind: 'pressure', node: gauge.node } : { kind: 'pump-flow', pump: gauge.pump },
  );
  const parameters = causes.map(({ slope }) => slope.parameter);
  const settings = expectation.settings(evidence.belief, evidence.boundary);
  const block = sensitivity(network, settings, evidence.healthy.solution, observables, parameters);
  return causes.map(({ hypothesis, slope }, column) => {
    const shift = new Float64Array(evidence.observedGauges.length);
    rows.forEach(({ row }, at) => {
      shift[row] = slope.perSize * block[at * causes.length + column]!;
    });
    const own = likelihood.whitened(shift);
    const length = dot(own, own);
    const along = dot(own, white);
    return { hypothesis, start: along / length, gain: along > 0 && length > 0 ? along ** 2 / length : 0 };
  });
}
