/**
 * One steady state of a network: gauge Pa and m3/s, per node and link of the assembly it was solved on, and whether the
 * solver got there. 'Did not converge' is an ordinary answer: `fault` names the element with the worst closure.
 */

export interface Fault {
  readonly code: 'hydraulics/not-converged' | 'hydraulics/demand-cut-off' | 'hydraulics/not-a-number';
  /** Name of the hose, gate, pump, head or place. */
  readonly element: string;
  readonly words: string;
}

export interface Solution {
  readonly converged: boolean;
  readonly fault: Fault | null;
  readonly iterations: number;
  /** Per node, gauge, at its own height; 0 where no water comes. Below air pressure: water hangs there. */
  readonly pressurePa: Float64Array;
  /** Per node, 1: joined to a source that can push. */
  readonly wet: Uint8Array;
  /** Flows of all links, of which those below are windows. */
  readonly flowM3s: Float64Array;
  /** Along each hose and feeder, positive from its `from` to its `to`. */
  readonly pipeFlowM3s: Float64Array;
  readonly gateFlowM3s: Float64Array;
  readonly pumpFlowM3s: Float64Array;
  readonly headFlowM3s: Float64Array;
  /** Per node. */
  readonly leakFlowM3s: Float64Array;
  /** Per pump, gauge at the eye. */
  readonly suctionPa: Float64Array;
}
