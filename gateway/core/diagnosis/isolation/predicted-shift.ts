/**
 * By how much a set of causes together moves the observed gauges, and the lay as it then is.
 *
 * In: evidence (belief, boundary, healthy expectation), causes with their sizes. Out: the shift of each observed gauge,
 * SI; null where the model has no solution. Causes of the network are solved for together; causes of a gauge add up.
 */
import type { Hypothesis } from '../causes/hypothesis.ts';
import { tradedShift } from '../causes/swapped-sensors.ts';
import type { Expectation, Prediction } from '../model/expectation.ts';
import { offsetAt } from '../model/parameter-estimate.ts';
import type { ResidualEvidence } from '../residuals/residual-evidence.ts';
import { changesOf, type Candidate } from './candidate.ts';

export interface PredictedShift {
  readonly ofGauges: Float64Array;
  /** The lay as it then is; null: nothing changes in the network. */
  readonly changed: Prediction | null;
}

export function predictedShift(
  expectation: Expectation,
  evidence: ResidualEvidence,
  set: readonly Candidate[],
): PredictedShift | null {
  const { observedGauges } = evidence;
  const ofGauges = new Float64Array(observedGauges.length);
  for (const { hypothesis, size } of set) {
    const { effect } = hypothesis;
    if (effect.kind === 'network') continue;
    observedGauges.forEach((gauge, row) => {
      ofGauges[row]! += readingShift(expectation, evidence, effect, size, gauge);
    });
  }
  const changes = changesOf(set);
  if (changes.length === 0) return { ofGauges, changed: null };
  const changed = expectation.predict(evidence.belief, evidence.boundary, changes);
  if (!changed) return null;
  observedGauges.forEach((gauge, row) => {
    const { kind, sensor } = expectation.gauges[gauge]!;
    if (kind !== 'end' && kind !== 'flow') return;
    ofGauges[row]! += Math.max(sensor.min, changed.values[gauge]!) - evidence.healthy.values[gauge]!;
  });
  return { ofGauges, changed };
}

/** What a cause that leaves the network alone does to one gauge, SI. */
function readingShift(
  { gauges }: Expectation,
  evidence: ResidualEvidence,
  effect: Exclude<Hypothesis['effect'], { kind: 'network' }>,
  size: number,
  gauge: number,
): number {
  const { belief, jacobian } = evidence;
  switch (effect.kind) {
    case 'offset':
      return size * effect.unit * jacobian[gauge * belief.size + offsetAt(belief, effect.gauge)]!;
    case 'shift':
      return effect.moves.reduce((sum, move) => (move.gauge === gauge ? sum + size * move.unit : sum), 0);
    case 'swap': {
      const sign = effect.gauges[0] === gauge ? 1 : effect.gauges[1] === gauge ? -1 : 0;
      return sign === 0 ? 0 : sign * tradedShift(evidence, gauges, effect.gauges);
    }
  }
}
