/**
 * The gauges of the hose lay, second by second: which readings are new, which gauges may be trusted, how often they
 * come.
 *
 * In: gauges, channels, time, which lines are idle. Out: readings in SI, NaN where there is none. A reading counts as
 * new once, in the first second that sees it. The end of an idle line says nothing of the lay.
 */
import type { Channel } from '../../telemetry/channel.ts';
import type { Gauge } from '../model/gauge.ts';

export interface GaugeReadings {
  /** New reading of each gauge, and when its newest was measured; NaN: none. */
  readonly fresh: Float64Array;
  readonly measuredMs: Float64Array;
  /** Gauges that are neither stale nor stuck nor idle. */
  readonly trusted: readonly boolean[];
  /** Time between readings of each. */
  readonly everyMs: readonly number[];
}

export class LayGauges {
  /** In the order of the gauges. */
  readonly channels: readonly Channel[];
  readonly #gauges: readonly Gauge[];
  readonly #isIdle: (line: string) => boolean;
  readonly #measuredMs: Float64Array;

  constructor(gauges: readonly Gauge[], channels: ReadonlyMap<string, Channel>, isIdle: (line: string) => boolean) {
    this.#gauges = gauges;
    this.channels = gauges.map(({ sensor }) => channels.get(sensor.id)!);
    this.#isIdle = isIdle;
    this.#measuredMs = new Float64Array(gauges.length);
  }

  /** One second. */
  observe(nowMs: number): GaugeReadings {
    const fresh = new Float64Array(this.channels.length).fill(NaN);
    const trusted = this.channels.map((channel, gauge) => {
      const value = this.isIdle(gauge) ? null : channel.usable(nowMs);
      if (value !== null && channel.latest!.atMs > this.#measuredMs[gauge]!) {
        this.#measuredMs[gauge] = channel.latest!.atMs;
        fresh[gauge] = value;
      }
      return value !== null;
    });
    return { fresh, measuredMs: this.#measuredMs, trusted, everyMs: this.channels.map(({ everyMs }) => everyMs) };
  }

  /** What each reads now, idle or not; NaN: nothing that may be used. */
  readings(nowMs: number): Float64Array {
    return Float64Array.from(this.channels, (channel) => channel.usable(nowMs) ?? NaN);
  }

  isIdle(gauge: number): boolean {
    const { line } = this.#gauges[gauge]!.sensor;
    return line !== null && this.#isIdle(line);
  }
}
