/**
 * The boundary of the hose lay: what pumps and sources measure at its edge, with the gates that are in force.
 *
 * In: the pumps and sources as they are, gates, time. Out: the edge of the model, SI; NaN: not known. A pump that is
 * stopped makes no pressure, whatever its gauge still holds.
 */
import type { Boundary } from './model/gauge.ts';
import type { PumpWatch } from './pump/pump-watch.ts';
import type { SitePumps } from './pump/site-pumps.ts';
import type { SiteSupplies } from './site-supplies.ts';

export class LayBoundary {
  readonly #pumps: SitePumps;
  readonly #supplies: SiteSupplies;
  readonly #gates: { readonly inForce: Float64Array };

  constructor(pumps: SitePumps, supplies: SiteSupplies, gates: { readonly inForce: Float64Array }) {
    this.#pumps = pumps;
    this.#supplies = supplies;
    this.#gates = gates;
  }

  at(nowMs: number): Boundary {
    const column = (value: (pump: PumpWatch) => number | null): Float64Array =>
      Float64Array.from(this.#pumps.each, (pump) => value(pump) ?? NaN);
    return {
      dischargePa: column((pump) => (pump.regime.state === 'stopped' ? null : pump.readings.dischargePa)),
      suctionPa: column((pump) => pump.readings.suctionPa),
      flowM3s: column((pump) => pump.readings.flowM3s),
      speedRatio: column((pump) => pump.speedRatio),
      levelM: this.#supplies.levelsM(nowMs),
      gateOpening: this.#gates.inForce,
    };
  }
}
