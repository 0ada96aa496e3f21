/**
 * Whether a set of causes leaves each pump no more water to give than it can, at the pressure that is measured there.
 *
 * In: the evidence with the pumps' limits (pump-limit.ts), the lay as these causes make it, the causes with their
 * sizes. Out: yes or no. What a cause of a given size takes is unsure by its spread, so the least that it may take
 * counts. Where a cause says that the discharge gauge itself is off, nothing is limited by it.
 */
import { widestSpread, type Candidate } from './candidate.ts';
import type { IsolationEvidence } from './isolation-evidence.ts';
import type { Prediction } from '../model/expectation.ts';
import type { Gauge } from '../model/gauge.ts';

/** Judgement: heads and hoses are known to a sixth. */
const SLACK = 1.15;
/** Of the spread of a size. */
const SURE_SD = 2;

export function isDeliverable(
  { mostM3s, healthy }: Pick<IsolationEvidence, 'mostM3s' | 'healthy'>,
  gauges: readonly Gauge[],
  changed: Prediction,
  set: readonly Candidate[],
): boolean {
  const spread = widestSpread(set);
  return mostM3s.every((most, pump) => {
    const misread = set.some(
      ({ hypothesis: { effect } }) =>
        effect.kind === 'offset' && gauges[effect.gauge]!.kind === 'rise' && gauges[effect.gauge]!.pump === pump,
    );
    const [before, after] = [healthy, changed].map(({ solution }) => solution.pumpFlowM3s[pump]!);
    const least = after! - SURE_SD * spread * Math.abs(after! - before!);
    return misread || least <= SLACK * most;
  });
}
