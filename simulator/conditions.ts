/**
 * What faults, crews and tenders change in the plant, and its state when nothing is wrong.
 *
 * Factors are 1 and extras 0 in a healthy lay. Indexed as the layout lists its heads, hoses, gates, pumps and sources;
 * holes are by place. SI, units in the names.
 */
import type { Layout } from '../config/layout/layout.ts';

export interface Conditions {
  readonly headShare: Float64Array;
  /** 1: the head is gone; between, it hangs loose in its fitting. */
  readonly headOff: Float64Array;
  /** 1: the head is gone and its feeder folded shut. */
  readonly headTaken: Uint8Array;
  /** How far a head has slipped down, m. */
  readonly headDropM: Float64Array;
  /** 1: it flows, but does not turn or beat. Nothing that the plant computes depends on it. */
  readonly headStalled: Uint8Array;
  readonly feederFactor: Float64Array;
  /** Effective area of a hole at each place, m2. */
  readonly holeM2: Float64Array;
  /** The same for a parted hose. */
  readonly burstM2: Float64Array;
  /** Multiplies the resistance of each hose. */
  readonly hoseFactor: Float64Array;
  readonly gateOpening: Float64Array;
  /** Share by which every gate is shut, whatever its opening. */
  readonly allShut: Float64Array;
  /** Throttle: speed over rated that the engine is set to; 0 stopped. */
  readonly throttle: Float64Array;
  /** Share of its speed that the engine still makes. */
  readonly engineShare: Float64Array;
  readonly curveShare: Float64Array;
  /** Share of the suction taken by air: 1 loses prime. */
  readonly suctionAir: Float64Array;
  readonly suctionFactor: Float64Array;
  /** 1: the non-return valve at the outlet does not close. */
  readonly valveStuck: Uint8Array;
  /** How far open water has fallen, m. */
  readonly sourceDropM: Float64Array;
  /** How much colder than at the start, K: the sensors feel it. */
  readonly coolingK: Float64Array;
  /** Mean wind, m/s: what it does is in wind.ts. */
  readonly windMps: Float64Array;
  /** What a tender brings to each source, and what leaks from it, m3/s. */
  readonly sourceGainM3s: Float64Array;
  readonly sourceLeakM3s: Float64Array;
  /** 1: no tender gets through to this source. */
  readonly refillHeld: Uint8Array;
}

/** Nothing is wrong, and everything as rigged. */
export function healthy(layout: Layout): Conditions {
  const { places, hoses, heads, gates, pumps, sources } = layout;
  const ones = (count: number): Float64Array => new Float64Array(count).fill(1);
  const none = (count: number): Float64Array => new Float64Array(count);
  return {
    headShare: ones(heads.length),
    headOff: none(heads.length),
    headTaken: new Uint8Array(heads.length),
    headDropM: none(heads.length),
    headStalled: new Uint8Array(heads.length),
    feederFactor: ones(heads.length),
    holeM2: none(places.length),
    burstM2: none(places.length),
    hoseFactor: ones(hoses.length),
    gateOpening: Float64Array.from(gates, (gate) => gate.opening),
    allShut: none(1),
    throttle: none(pumps.length),
    engineShare: ones(pumps.length),
    curveShare: ones(pumps.length),
    suctionAir: none(pumps.length),
    suctionFactor: ones(pumps.length),
    valveStuck: new Uint8Array(pumps.length),
    sourceDropM: none(sources.length),
    coolingK: none(1),
    windMps: none(1),
    sourceGainM3s: none(sources.length),
    sourceLeakM3s: none(sources.length),
    refillHeld: new Uint8Array(sources.length),
  };
}
