/**
 * What a judgement of causes rests on: mean residuals, and what is known around them.
 *
 * In: a frame's circumstances as people, shocks and orders told them, and what earlier judgements left. Out: the types
 * that prior, likelihood and search share.
 */
import type { Hypothesis } from '../causes/hypothesis.ts';
import type { Inspection } from '../causes/inspections.ts';
import type { ResidualEvidence } from '../residuals/residual-evidence.ts';
import type { Shape } from '../residuals/shape.ts';

/** What people, shocks and orders say beside the gauges. */
export interface Circumstances {
  /** What people found where they looked. */
  readonly looks: readonly Inspection[];
  /** Heads that a pressure shock may have hurt. */
  readonly hurt: ReadonlySet<string>;
  /** Moves of gates that were ordered and are not yet seen. */
  readonly ordered: readonly Hypothesis[];
}

export interface IsolationEvidence extends ResidualEvidence, Circumstances {
  /** How the residuals of the pumps' own gauges have come to what they are. */
  readonly shapes: ReadonlyMap<number, Shape>;
  /** Keys of what was found a moment ago. */
  readonly stood: ReadonlySet<string>;
  /** Most that each pump can give at its discharge pressure, m3/s. */
  readonly mostM3s: Float64Array;
}
