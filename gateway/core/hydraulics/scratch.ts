/**
 * Work space of a solve, one set a network, and the linear system that is kept for the next solve that begins near by.
 *
 * Whatever is in here is of the solve at hand: apply-settings.ts fills strengths, known pressures and active links,
 * newton.ts the rest. Solving is synchronous, so one set a network is enough.
 */
import type { LinearSystem } from './linear-system.ts';
import { TORRICELLI_EXPONENT } from './nozzle.ts';
import type { Solution } from './solution.ts';

/** Strength of a pump whose discharge pressure is given: no speed. */
export const IMPOSED = -1;

export interface Scratch {
  /** Links that water can pass, rising; the first `activeCount` hold. */
  readonly active: Int32Array;
  activeCount: number;
  /** Work list of the sweep: links whose flow changed so much that their loss is worked out anew. */
  readonly bent: Int32Array;
  bentCount: number;
  readonly open: Uint8Array;
  /**
   * Which links the settings leave open, before those that no water reaches are closed; and the same of the last solve.
   */
  readonly asked: Uint8Array;
  readonly askedBefore: Uint8Array;
  /** Per node and known end, 1: reached. A new array whenever it changes, since solutions keep it. */
  wet: Uint8Array;
  /**
   * Strength of each link under the settings in force: friction Pa, gate Pa per (m3/s)^2, pump speed (or IMPOSED),
   * outlet K.
   */
  readonly strength: Float64Array;
  /** Of outlets. */
  readonly exponent: Float64Array;
  readonly pressure: Float64Array;
  readonly loss: Float64Array;
  readonly conductance: Float64Array;
  /** Fall of pressure along each link, lift included, and change of its flow in the last step. */
  readonly drop: Float64Array;
  readonly change: Float64Array;
  /** The linear system as added up, in the order of `system.values`; the factor is made of a copy. */
  readonly matrix: Float64Array;
  /**
   * By elimination step: right side of the system and then its solution, and the change of pressure in the last step.
   */
  readonly rightSide: Float64Array;
  readonly shift: Float64Array;
}

/** One base a network, which is what the usual loops need: many small changes from one state. */
export interface WarmStart {
  kept: KeptSystem | null;
}

/** A converged solution with what the scratch and the linear system held there, as copies. */
export interface KeptSystem {
  readonly of: Solution;
  readonly wet: Uint8Array;
  readonly flow: Float64Array;
  readonly pressure: Float64Array;
  readonly strength: Float64Array;
  readonly exponent: Float64Array;
  readonly loss: Float64Array;
  readonly conductance: Float64Array;
  readonly drop: Float64Array;
  readonly rightSide: Float64Array;
  readonly matrix: Float64Array;
}

export function workSpace(linkCount: number, pressureCount: number, { size, values }: LinearSystem): Scratch {
  const perLink = () => new Float64Array(linkCount);
  return {
    active: new Int32Array(linkCount),
    activeCount: 0,
    bent: new Int32Array(linkCount),
    bentCount: 0,
    open: new Uint8Array(linkCount),
    asked: new Uint8Array(linkCount),
    // No pattern of zeros and ones: the first solve works everything out.
    askedBefore: new Uint8Array(linkCount).fill(2),
    wet: new Uint8Array(0),
    strength: perLink(),
    // Of leaks it never changes; heads set theirs anew in each solve.
    exponent: perLink().fill(TORRICELLI_EXPONENT),
    pressure: new Float64Array(pressureCount),
    loss: perLink(),
    conductance: perLink(),
    drop: perLink(),
    change: perLink(),
    matrix: new Float64Array(values.length),
    rightSide: new Float64Array(size),
    shift: new Float64Array(size),
  };
}
