/**
 * What can differ from the layout as rigged: how fast the pumps turn, how full the tanks are, which gates stand how
 * far open, and what may be wrong with hoses and heads. A what-if or a hypothesis is a copy with numbers changed.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import { restLevelM } from './source.ts';

export interface Settings {
  /** Per pump, ratio to rated speed; 0 stopped. */
  readonly pumpSpeed: Float64Array;
  /** Per pump, gauge pressure imposed at its outlet place, Pa; NaN: the pump curve rules. */
  readonly dischargePa: Float64Array;
  /** Per source, depth of water over its floor; open water: over its usual surface. */
  readonly sourceLevelM: Float64Array;
  /** Per gate, 0 shut .. 1 open. */
  readonly gateOpening: Float64Array;
  /** Per pipe (hoses, then feeders), multiplies its friction; 1 as in the kit. */
  readonly hoseFactor: Float64Array;
  /** Per head, multiplies K; 1 as built, 0 plugged. */
  readonly headFactor: Float64Array;
  /** Per head, 1: head missing, the open fitting discharges instead. */
  readonly headOff: Uint8Array;
  /** Per node, K of a discharge to air there, m3/s per sqrt(Pa). */
  readonly leakK: Float64Array;
}

/** How many there are of each, in whatever holds the network. */
interface Sizes {
  readonly pumpCount: number;
  readonly sourceCount: number;
  readonly gateCount: number;
  readonly pipeCount: number;
  readonly headCount: number;
  readonly nodeCount: number;
}

/** All as in the layout: sources full, pumps at the throttle rigged, gates as rigged, nothing wrong. */
export function asRigged(network: Sizes & { readonly layout: Layout }): Settings {
  const { layout } = network;
  return {
    ...nothingWrong(network),
    pumpSpeed: Float64Array.from(layout.pumps, (pump) => pump.speed),
    sourceLevelM: Float64Array.from(layout.sources, restLevelM),
    gateOpening: Float64Array.from(layout.gates, (gate) => gate.opening),
  };
}

/** Everything open, running and whole, sources at the level of their floor: where a bare assembly starts from. */
export function nothingWrong(sizes: Sizes): Settings {
  return {
    pumpSpeed: new Float64Array(sizes.pumpCount).fill(1),
    dischargePa: new Float64Array(sizes.pumpCount).fill(NaN),
    sourceLevelM: new Float64Array(sizes.sourceCount),
    gateOpening: new Float64Array(sizes.gateCount).fill(1),
    hoseFactor: new Float64Array(sizes.pipeCount).fill(1),
    headFactor: new Float64Array(sizes.headCount).fill(1),
    headOff: new Uint8Array(sizes.headCount),
    leakK: new Float64Array(sizes.nodeCount),
  };
}

/** Throws RangeError where settings were made for another network. */
export function requireSameSize(sizes: Sizes, settings: Settings): void {
  const same =
    settings.pumpSpeed.length === sizes.pumpCount &&
    settings.dischargePa.length === sizes.pumpCount &&
    settings.sourceLevelM.length === sizes.sourceCount &&
    settings.gateOpening.length === sizes.gateCount &&
    settings.hoseFactor.length === sizes.pipeCount &&
    settings.headFactor.length === sizes.headCount &&
    settings.headOff.length === sizes.headCount &&
    settings.leakK.length === sizes.nodeCount;
  if (!same) throw new RangeError('solve: the settings are those of another network');
}

/** Whether the discharge pressure of a pump is given, and its curve set aside. */
export const isImposed = (settings: Settings, pump: number): boolean => !Number.isNaN(settings.dischargePa[pump]!);

export function copySettings(settings: Settings): Settings {
  return {
    pumpSpeed: settings.pumpSpeed.slice(),
    dischargePa: settings.dischargePa.slice(),
    sourceLevelM: settings.sourceLevelM.slice(),
    gateOpening: settings.gateOpening.slice(),
    hoseFactor: settings.hoseFactor.slice(),
    headFactor: settings.headFactor.slice(),
    headOff: settings.headOff.slice(),
    leakK: settings.leakK.slice(),
  };
}
