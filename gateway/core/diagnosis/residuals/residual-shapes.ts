/**
 * How the residuals of the pumps' own gauges have come to what they are: in one step, or growing.
 *
 * In: the history of residuals. Out: by gauge the shape that is clear, or was clear a moment ago.
 */
import type { Gauge } from '../model/gauge.ts';
import { SEGMENT_MS, type GaugeHistory } from './gauge-history.ts';
import { shapeOf, type Shape } from './shape.ts';

/** Judgement: what has grown counts as growing for so long; by standing still it has not become something else. */
const GROWN_MS = 120_000;

export class ResidualShapes {
  readonly #known = new Map<number, { readonly shape: Shape; readonly atMs: number }>();

  of(gauges: readonly Gauge[], history: GaugeHistory, nowMs: number): ReadonlyMap<number, Shape> {
    gauges.forEach(({ kind }, gauge) => {
      const shape =
        kind === 'rise' || kind === 'suction' ? shapeOf(history.points(gauge, nowMs - SEGMENT_MS), nowMs) : null;
      const known = this.#known.get(gauge);
      if (shape === 'grows' || (shape && known?.shape !== 'grows')) this.#known.set(gauge, { shape, atMs: nowMs });
      else if (known && nowMs - known.atMs >= GROWN_MS) this.#known.delete(gauge);
    });
    return new Map([...this.#known].map(([gauge, { shape }]) => [gauge, shape]));
  }
}
