/**
 * What each gauge should read, given the measured boundary and the estimate of the lay.
 *
 * predict: boundary + estimate + a change to the network -> one value per gauge (SI; NaN where the boundary cannot
 * say). jacobian: derivatives of those values by every parameter and by the measured discharge pressure, from one
 * factorisation. Limit: steady flow; not valid while the pump changes speed or the lay fills.
 */
import type { Layout } from '../../../../config/layout/layout.ts';
import type { Network } from '../../hydraulics/network.ts';
import { sensitivity, type Observable, type Parameter } from '../../hydraulics/sensitivity.ts';
import { asRigged, type Settings } from '../../hydraulics/settings.ts';
import type { Solution } from '../../hydraulics/solution.ts';
import { solve } from '../../hydraulics/solve.ts';
import {
  headAt,
  offsetAt,
  pipeAt,
  riseFactorAt,
  suctionFactorAt,
  type ParameterEstimate,
} from './parameter-estimate.ts';
import type { Boundary, Gauge } from './gauge.ts';
import { PumpSide } from './pump-side.ts';

export interface Prediction {
  /** Per gauge; NaN where nothing can be said. */
  readonly values: Float64Array;
  readonly solution: Solution;
}

/** A change to the network, as a cause makes it. */
export type Change = (settings: Settings) => void;

export class Expectation {
  readonly layout: Layout;
  readonly network: Network;
  readonly gauges: readonly Gauge[];
  readonly pumpSides: readonly PumpSide[];
  #warm: Solution | undefined;

  constructor(layout: Layout, network: Network, gauges: readonly Gauge[]) {
    this.layout = layout;
    this.network = network;
    this.gauges = gauges;
    this.pumpSides = layout.pumps.map((_, pump) => new PumpSide(layout, pump));
  }

  settings(belief: ParameterEstimate, boundary: Boundary): Settings {
    const settings = asRigged(this.network);
    for (let head = 0; head < belief.heads; head += 1)
      settings.headFactor[head] = Math.max(0.05, belief.mean[headAt(head)]!);
    for (let pipe = 0; pipe < belief.pipes; pipe += 1)
      settings.hoseFactor[pipe] = Math.max(0.05, belief.mean[pipeAt(belief, pipe)]!);
    settings.gateOpening.set(boundary.gateOpening);
    boundary.levelM.forEach((level, source) => {
      if (Number.isFinite(level)) settings.sourceLevelM[source] = level;
    });
    for (let pump = 0; pump < belief.pumps; pump += 1) {
      if (this.layout.pumps[pump]!.inlet !== null) {
        // A pump that boosts a hose has no source to lean on: it goes by its speed.
        const ratio = boundary.speedRatio[pump]!;
        if (Number.isFinite(ratio)) settings.pumpSpeed[pump] = ratio;
        continue;
      }
      const measured = boundary.dischargePa[pump]!;
      const rise = this.gauges.findIndex((gauge) => gauge.kind === 'rise' && gauge.pump === pump);
      const running = Number.isFinite(measured) && measured > 0;
      settings.dischargePa[pump] = running ? measured - (rise < 0 ? 0 : belief.mean[offsetAt(belief, rise)]!) : NaN;
      if (!running) settings.pumpSpeed[pump] = 0;
    }
    return settings;
  }

  /** Null when the network has no solution under these settings. */
  predict(belief: ParameterEstimate, boundary: Boundary, changes: readonly Change[] = []): Prediction | null {
    const settings = this.settings(belief, boundary);
    for (const change of changes) change(settings);
    const solution = solve(this.network, settings, this.#warm);
    if (!solution.converged) return null;
    if (changes.length === 0) this.#warm = solution;
    const values = Float64Array.from(this.gauges, (gauge, index) =>
      this.#value(gauge, index, belief, boundary, solution),
    );
    return { values, solution };
  }

  #value(gauge: Gauge, index: number, belief: ParameterEstimate, boundary: Boundary, solution: Solution): number {
    const offset = belief.mean[offsetAt(belief, index)]!;
    if (gauge.kind === 'end') return solution.pressurePa[gauge.node]! + offset;
    if (gauge.kind === 'flow') return solution.pumpFlowM3s[gauge.pump]! + offset;
    const pump = this.layout.pumps[gauge.pump]!;
    const flow = boundary.flowM3s[gauge.pump]! - this.#offsetOf('flow', gauge.pump, belief);
    if (gauge.kind === 'suction') {
      const source = this.network.sourceIndex.get(pump.source)!;
      const side = this.pumpSides[gauge.pump]!.suction(flow, boundary.levelM[source]!);
      return side.staticPa - belief.mean[suctionFactorAt(belief, gauge.pump)]! * side.lossPa + offset;
    }
    const suction = boundary.suctionPa[gauge.pump]! - this.#offsetOf('suction', gauge.pump, belief);
    const rise = this.pumpSides[gauge.pump]!.rise(flow, boundary.speedRatio[gauge.pump]!);
    return suction + belief.mean[riseFactorAt(belief, gauge.pump)]! * rise.risePa + offset;
  }

  /** What one reading's noise of the speed sensor does to the expected rise, Pa: rise goes with the square of speed. */
  speedNoisePa(pump: number, boundary: Boundary): number {
    const { id, kit } = this.layout.pumps[pump]!;
    const sensor = this.layout.sensors.find(
      (candidate) =>
        candidate.quantity === 'rotation' && 'pump' in candidate.mounting && candidate.mounting.pump === id,
    );
    const ratio = boundary.speedRatio[pump]!;
    const flow = boundary.flowM3s[pump]!;
    const { risePa, slopePaPerM3s } = this.pumpSides[pump]!.rise(flow, ratio);
    return (((2 * risePa - flow * slopePaPerM3s) / ratio) * (sensor?.noiseSd ?? 0)) / kit.ratedRotationHz;
  }

  #offsetOf(kind: Gauge['kind'], pump: number, belief: ParameterEstimate): number {
    const index = this.gauges.findIndex((gauge) => gauge.kind === kind && gauge.pump === pump);
    return index < 0 ? 0 : belief.mean[offsetAt(belief, index)]!;
  }

  /**
   * d(values)/d(parameters), row-major gauges x belief.size. The column of a discharge gauge's offset is also minus
   * the derivative with respect to the measured discharge pressure: the boundary carries that gauge's error.
   */
  jacobian(belief: ParameterEstimate, boundary: Boundary, prediction: Prediction): Float64Array {
    const { size } = belief;
    const out = new Float64Array(this.gauges.length * size);
    const rows = this.gauges
      .map((gauge, row) => ({ gauge, row }))
      .filter(({ gauge }) => gauge.kind === 'end' || gauge.kind === 'flow');
    const observables = rows.map(({ gauge }): Observable =>
      gauge.kind === 'end' ? { kind: 'pressure', node: gauge.node } : { kind: 'pump-flow', pump: gauge.pump },
    );
    const parameters: Parameter[] = [
      ...Array.from({ length: belief.heads }, (_, head): Parameter => ({ kind: 'head-factor', head })),
      ...Array.from({ length: belief.pipes }, (_, pipe): Parameter => ({ kind: 'hose-factor', pipe })),
      ...Array.from({ length: belief.pumps }, (_, pump): Parameter => ({ kind: 'discharge', pump })),
    ];
    const block = sensitivity(
      this.network,
      this.settings(belief, boundary),
      prediction.solution,
      observables,
      parameters,
    );
    const network = belief.heads + belief.pipes;
    rows.forEach(({ row }, at) => {
      const from = at * parameters.length;
      out.set(block.subarray(from, from + network), row * size);
      this.gauges.forEach((gauge, index) => {
        if (gauge.kind === 'rise') out[row * size + offsetAt(belief, index)] = -block[from + network + gauge.pump]!;
      });
    });
    this.gauges.forEach((gauge, row) => this.#pumpSideRow(out, gauge, row, belief, boundary));
    return out;
  }

  #pumpSideRow(out: Float64Array, gauge: Gauge, row: number, belief: ParameterEstimate, boundary: Boundary): void {
    const at = row * belief.size;
    out[at + offsetAt(belief, row)]! += 1;
    if (gauge.kind === 'end' || gauge.kind === 'flow') return;
    const flowGauge = this.gauges.findIndex((other) => other.kind === 'flow' && other.pump === gauge.pump);
    const suctionGauge = this.gauges.findIndex((other) => other.kind === 'suction' && other.pump === gauge.pump);
    const flow = boundary.flowM3s[gauge.pump]!;
    if (gauge.kind === 'rise') {
      const rise = this.pumpSides[gauge.pump]!.rise(flow, boundary.speedRatio[gauge.pump]!);
      out[at + riseFactorAt(belief, gauge.pump)] = rise.risePa;
      if (flowGauge >= 0) out[at + offsetAt(belief, flowGauge)] = -rise.slopePaPerM3s;
      if (suctionGauge >= 0) out[at + offsetAt(belief, suctionGauge)] = -1;
      return;
    }
    const source = this.network.sourceIndex.get(this.layout.pumps[gauge.pump]!.source)!;
    const side = this.pumpSides[gauge.pump]!.suction(flow, boundary.levelM[source]!);
    out[at + suctionFactorAt(belief, gauge.pump)] = -side.lossPa;
    if (flowGauge >= 0 && flow > 0) out[at + offsetAt(belief, flowGauge)] = (2 * side.lossPa) / flow;
  }
}
