/**
 * What a finding is told with: the gauges that show it, and how much water it takes or keeps back.
 *
 * In: the evidence of a judgement, the cause that won. Out: expected and measured values with their tolerance (SI),
 * the change of the pumps' flow at the present discharge pressure (m3/s).
 */
import type { Estimate, Evidence } from '../../../../config/wire/wire.ts';
import { changesOf, type Candidate } from './candidate.ts';
import type { IsolationEvidence } from './isolation-evidence.ts';
import type { Expectation } from '../model/expectation.ts';
import type { ResidualEvidence } from '../residuals/residual-evidence.ts';
import { withinReach } from './finding.ts';
import type { Gauge } from '../model/gauge.ts';

const MOST_SHOWN = 5;

/** Gauges by how far they are out, worst first. */
export function shownEvidence(gauges: readonly Gauge[], evidence: ResidualEvidence): Evidence[] {
  const { observedGauges, healthy, referenceOffset, residual, covariance } = evidence;
  return observedGauges
    .map((gauge, row) => {
      const expected = healthy.values[gauge]! + referenceOffset[row]!;
      const tolerance = 3 * Math.sqrt(covariance[row * observedGauges.length + row]!);
      return { channel: gauges[gauge]!.sensor.id, measured: expected + residual[row]!, expected, tolerance };
    })
    .sort((a, b) => Math.abs(b.measured - b.expected) / b.tolerance - Math.abs(a.measured - a.expected) / a.tolerance)
    .slice(0, MOST_SHOWN);
}

/** Null: it leaves the network alone, or the model has no answer. */
export function outflowOf(expectation: Expectation, best: Candidate, evidence: IsolationEvidence): Estimate | null {
  if (best.hypothesis.effect.kind !== 'network') return null;
  const changed = expectation.predict(evidence.belief, evidence.boundary, changesOf([best]));
  if (!changed) return null;
  const sum = (flows: Float64Array): number => flows.reduce((total, flow) => total + flow, 0);
  const before = sum(evidence.healthy.solution.pumpFlowM3s);
  const change = sum(changed.solution.pumpFlowM3s) - before;
  const share = best.hypothesis.size.fixed ? best.hypothesis.size.spread : Math.min(1, 2 * best.sizeSd);
  const ends = [change * (1 - share), change * (1 + share)];
  return withinReach({ best: change, low: Math.min(...ends), high: Math.max(...ends) }, sum(evidence.mostM3s) - before);
}
