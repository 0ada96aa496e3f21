/**
 * The channels that the hydraulic model can speak about, and what it says of each.
 *
 * Four kinds: `flow` through a pump; `end`, a pressure anywhere in the lay; `rise`, discharge pressure against what
 * the pump curve gives at measured speed, flow and suction; `suction`, against source level and suction losses. The
 * measured discharge pressure is the boundary of the hose lay: so `flow` and `end` do not depend on the throttle, nor
 * `rise` and `suction` on the lay. That split answers 'pump, water or hose lay?'.
 */
import type { Layout, Sensor } from '../../../../config/layout/layout.ts';
import type { Network } from '../../hydraulics/network.ts';

export type GaugeKind = 'flow' | 'end' | 'rise' | 'suction';

export interface Gauge {
  readonly sensor: Sensor;
  readonly kind: GaugeKind;
  /** Index of the pump it belongs to; for `end`, 0. */
  readonly pump: number;
  /** Node it watches, for `end`; else -1. */
  readonly node: number;
}

export function gaugesOf(layout: Layout, network: Network): Gauge[] {
  const gauges: Gauge[] = [];
  for (const sensor of layout.sensors) {
    const { mounting } = sensor;
    if (sensor.quantity === 'pressure' && mounting.kind === 'place') {
      const node = network.nodeOfPlace.get(mounting.place);
      if (node !== undefined) gauges.push({ sensor, kind: 'end', pump: 0, node });
    } else if ('pump' in mounting) {
      const pump = network.pumpIndex.get(mounting.pump) ?? -1;
      const kind = kindAtPump(sensor, mounting.kind);
      if (pump >= 0 && kind) gauges.push({ sensor, kind, pump, node: -1 });
    }
  }
  return gauges;
}

function kindAtPump(sensor: Sensor, where: 'suction' | 'discharge' | 'pump'): GaugeKind | null {
  if (sensor.quantity === 'flow') return 'flow';
  if (sensor.quantity !== 'pressure' || where === 'pump') return null;
  return where === 'suction' ? 'suction' : 'rise';
}

/** What the sensors at pumps and sources said in one frame: the edge of the network model. NaN: not known. */
export interface Boundary {
  readonly dischargePa: Float64Array;
  readonly suctionPa: Float64Array;
  readonly flowM3s: Float64Array;
  /** Speed over rated speed. */
  readonly speedRatio: Float64Array;
  readonly levelM: Float64Array;
  readonly gateOpening: Float64Array;
}
