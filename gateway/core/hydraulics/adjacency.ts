/**
 * Which links meet at each node. In: ends of all links, of which those from `nodeCount` up are known ends. Out: for
 * node i the links `link[start[i]]` up to `link[start[i + 1]]`.
 */

export interface Adjacency {
  readonly start: Int32Array;
  readonly link: Int32Array;
}

export function linksOfNodes(nodeCount: number, from: Int32Array, to: Int32Array): Adjacency {
  const start = new Int32Array(nodeCount + 1);
  const each = (visit: (node: number, link: number) => void) => {
    for (let k = 0; k < from.length; k++) {
      if (from[k]! < nodeCount) visit(from[k]!, k);
      if (to[k]! < nodeCount) visit(to[k]!, k);
    }
  };
  each((node) => start[node + 1]!++);
  for (let i = 0; i < nodeCount; i++) start[i + 1]! += start[i]!;
  const next = start.slice();
  const link = new Int32Array(start[nodeCount]!);
  each((node, k) => (link[next[node]!++] = k));
  return { start, link };
}
