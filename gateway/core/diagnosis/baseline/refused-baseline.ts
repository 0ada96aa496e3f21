/**
 * What a baseline that was refused looks most like, in words.
 *
 * In: the steady spell, the model of the kit at its boundary, what gauges may be off by. Out: the causes that win the
 * competition on it, and where to look. Nothing else is known then: no inspection, no order, no earlier judgement.
 */
import type { CauseIsolation } from '../isolation/cause-isolation.ts';
import type { Expectation } from '../model/expectation.ts';
import { addBlock } from '../model/gauge-errors.ts';
import type { LocalModel } from '../model/local-model.ts';
import { mostFlowM3s } from '../model/pump-limit.ts';
import type { SteadySpell } from './calibration.ts';

export function likeliestWords(
  isolation: CauseIsolation,
  expectation: Expectation,
  { boundary, means, covariance }: SteadySpell,
  model: Pick<LocalModel, 'belief' | 'healthy' | 'jacobian' | 'biasCovariance'>,
): string {
  const { gauges } = expectation;
  const observedGauges = gauges
    .map((_, gauge) => gauge)
    .filter((gauge) => Number.isFinite(means[gauge]!) && Number.isFinite(model.healthy.values[gauge]!));
  const block = new Float64Array(observedGauges.length ** 2);
  addBlock(block, covariance, observedGauges, gauges.length);
  addBlock(block, model.biasCovariance, observedGauges, gauges.length);
  const found = isolation.judge(
    {
      ...model,
      boundary,
      observedGauges,
      residual: Float64Array.from(observedGauges, (gauge) => means[gauge]! - model.healthy.values[gauge]!),
      referenceOffset: new Float64Array(observedGauges.length),
      covariance: block,
      looks: [],
      hurt: new Set(),
      ordered: [],
      shapes: new Map(),
      stood: new Set(),
      mostM3s: mostFlowM3s(expectation, model.belief, boundary),
    },
    [],
  );
  const causes = found.map(({ best }) => `${best.hypothesis.cause.replaceAll('-', ' ')} at ${best.hypothesis.place}`);
  const first = causes.length > 0 ? `It looks most like: ${causes.join(', and ')}. ` : '';
  return `${first}Look there first, or for a wrong hose or height in the layout; then take the baseline again.`;
}
