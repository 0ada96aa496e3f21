/**
 * A network as the solver sees it: junctions and links in typed arrays, whatever they were made from.
 *
 * Tables that never change, the elimination plan, and one work space. Links lie in one sequence: pipes, gates, pumps,
 * then outlets to air: heads first, one possible leak for every junction after them. The link of a head at the end of a
 * lateral begins where the lateral begins. Made by assemble.ts.
 */
import type { Adjacency } from './adjacency.ts';
import type { HoseTable } from './hose-table.ts';
import type { LinearSystem } from './linear-system.ts';
import type { Laterals } from './lumped-laterals.ts';
import type { PumpCurve } from './pump-curve.ts';
import type { Scratch, WarmStart } from './scratch.ts';

export interface Assembly {
  readonly nodeCount: number;
  readonly sourceCount: number;
  readonly pipeCount: number;
  readonly gateCount: number;
  readonly pumpCount: number;
  readonly headCount: number;
  readonly linkCount: number;
  readonly nodeName: readonly string[];
  readonly linkName: readonly string[];
  readonly nodeDemandM3s: Float64Array;
  readonly hasDemands: boolean;
  /** Ends of each link in the pressure vector: junctions, sources, one slot a pump (what it draws from), the air. */
  readonly from: Int32Array;
  readonly to: Int32Array;
  /** Pressure that a link gains by falling from its `from` to its `to`, Pa. */
  readonly liftPa: Float64Array;
  /** The same ends as steps of the elimination; -1: known, or eliminated by hand as the nozzle of a lateral. */
  readonly rowFrom: Int32Array;
  readonly rowTo: Int32Array;
  /** The same of each node, and the node of each step. */
  readonly rowOfNode: Int32Array;
  readonly nodeOfRow: Int32Array;
  readonly laterals: Laterals;
  /** Per link: the hose of a plain Hazen-Williams link, or of the lateral of a head; -1: any other link. */
  readonly usualHose: Int32Array;
  /** The same network, every node an equation of its own; made when first asked for. */
  readonly withoutLaterals: () => Assembly;
  /** 1: water passes from `from` to `to` only. */
  readonly oneWay: Uint8Array;
  readonly pipes: HoseTable;
  readonly suctions: HoseTable;
  /** Pa per (m3/s)^2 fully open, and the trickle flow, per gate. */
  readonly gateLoss: Float64Array;
  readonly gateTrickleM3s: Float64Array;
  readonly pumpCurves: readonly PumpCurve[];
  /**
   * Per pump, index in the pressure vector of the source or junction that it draws from, and Pa from there up to its
   * eye.
   */
  readonly pumpSupply: Int32Array;
  readonly pumpLiftPa: Float64Array;
  /** Per outlet: heads, then a leak a junction. */
  readonly outletNode: Int32Array;
  readonly headK: Float64Array;
  readonly headExponent: Float64Array;
  readonly headOpenK: Float64Array;
  readonly adjacency: Adjacency;
  readonly system: LinearSystem;
  readonly scratch: Scratch;
  readonly warmStart: WarmStart;
}
