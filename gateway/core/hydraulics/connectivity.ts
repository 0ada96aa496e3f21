/**
 * Which nodes water can get to: those joined, through links that are open, to a source or a running pump.
 *
 * In: an assembly with its open links marked. Out: 1 per node that is reached, and for every known end after the nodes.
 * The direction of non-returns is left to the solver: a node behind one counts as reached.
 */
import type { Assembly } from './assembly.ts';

export function findWetNodes(net: Assembly): Uint8Array {
  const { nodeCount, from, to, adjacency } = net;
  const { open } = net.scratch;
  const wet = new Uint8Array(net.scratch.pressure.length).fill(1, nodeCount);
  const queue = new Int32Array(nodeCount);
  let queued = 0;
  const outletStart = net.pipeCount + net.gateCount + net.pumpCount;
  for (let k = 0; k < outletStart; k++) {
    if (open[k] === 0) continue;
    if (from[k]! >= nodeCount) queued = reach(to[k]!, wet, queue, queued);
    if (to[k]! >= nodeCount) queued = reach(from[k]!, wet, queue, queued);
  }
  for (let done = 0; done < queued; done++) {
    const node = queue[done]!;
    for (let p = adjacency.start[node]!; p < adjacency.start[node + 1]!; p++) {
      const k = adjacency.link[p]!;
      if (open[k] === 0) continue;
      queued = reach(from[k]!, wet, queue, queued);
      queued = reach(to[k]!, wet, queue, queued);
    }
  }
  return wet;
}

/** Marks and queues a node that was not reached before. Returns the length of the queue. */
function reach(node: number, wet: Uint8Array, queue: Int32Array, queued: number): number {
  if (wet[node] === 1) return queued;
  wet[node] = 1;
  queue[queued] = node;
  return queued + 1;
}
