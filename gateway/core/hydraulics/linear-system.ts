/**
 * Solves A x = b for the symmetric, positive definite matrix of a network, again and again on one pattern.
 *
 * The pattern is worked out once: nodes are eliminated in minimum-degree order, and every multiply-subtract that the
 * elimination will ever need is written down as an index (a 'programme'). A numeric factorisation A = L D L' then is
 * one straight run through typed arrays: no search, no allocation. Fill grows with the number of loops, not of nodes.
 * Method: minimum degree ordering (Tinney & Walker 1967), right-looking LDL'. No pivoting: right for the diagonally
 * dominant matrices that networks give, and for nothing else.
 */
export interface LinearSystem {
  readonly size: number;
  /**
   * Matrix in, factor out (of the diagonal its inverse): first the diagonal by elimination step, then couplings, where
   * `couplingIndex` says.
   */
  readonly values: Float64Array;
  /** Where the coupling of each pair given to `planLinearSystem` lies in `values`; -1 if either end is known. */
  readonly couplingIndex: Int32Array;
  /** Equation number to elimination step. */
  readonly step: Int32Array;
  readonly columnStart: Int32Array;
  readonly row: Int32Array;
  readonly programme: Int32Array;
}

/** `from[k]`, `to[k]` couple two equations where both are in 0..size-1; other numbers mean a known value. */
export function planLinearSystem(size: number, from: ArrayLike<number>, to: ArrayLike<number>): LinearSystem {
  const neighbours = adjacency(size, from, to);
  const step = new Int32Array(size).fill(-1);
  const columns = eliminate(neighbours, step);

  const columnStart = new Int32Array(size + 1);
  columns.forEach((column, j) => (columnStart[j + 1] = columnStart[j]! + column.length));
  const row = new Int32Array(columnStart[size]!);
  columns.forEach((column, j) => {
    const rows = column.map((equation) => step[equation]!).sort((a, b) => a - b);
    row.set(rows, columnStart[j]!);
  });

  // values = [diagonal by step | columns of L one after the other]
  const find = (i: number, j: number): number => {
    if (i === j) return i;
    const [low, high] = i < j ? [i, j] : [j, i];
    const at = row.subarray(columnStart[low]!, columnStart[low + 1]!).indexOf(high);
    return size + columnStart[low]! + at;
  };
  const programme: number[] = [];
  for (let j = 0; j < size; j++) {
    for (let p = columnStart[j]!; p < columnStart[j + 1]!; p++) {
      for (let q = p; q < columnStart[j + 1]!; q++) programme.push(find(row[q]!, row[p]!));
    }
  }
  const known = (equation: number) => equation < 0 || equation >= size;
  const couplingIndex = Int32Array.from(from, (a, k) => {
    const b = to[k]!;
    return known(a) || known(b) || a === b ? -1 : find(step[a]!, step[b]!);
  });
  return {
    size,
    values: new Float64Array(size + row.length),
    couplingIndex,
    step,
    columnStart,
    row,
    programme: Int32Array.from(programme),
  };
}

function adjacency(size: number, from: ArrayLike<number>, to: ArrayLike<number>): Set<number>[] {
  const neighbours = Array.from({ length: size }, () => new Set<number>());
  for (let k = 0; k < from.length; k++) {
    const a = from[k]!;
    const b = to[k]!;
    if (a === b || a < 0 || b < 0 || a >= size || b >= size) continue;
    neighbours[a]!.add(b);
    neighbours[b]!.add(a);
  }
  return neighbours;
}

/** Eliminates the node of fewest neighbours until none is left; what it is joined to then is its column of L. */
function eliminate(neighbours: Set<number>[], step: Int32Array): number[][] {
  const size = neighbours.length;
  const buckets: Set<number>[] = [];
  const degree = neighbours.map((set) => set.size);
  const file = (node: number) => (buckets[degree[node]!] ??= new Set()).add(node);
  for (let node = 0; node < size; node++) file(node);

  const columns: number[][] = [];
  let lowest = 0;
  for (let j = 0; j < size; j++) {
    while (!buckets[lowest]?.size) lowest++;
    const node = buckets[lowest]!.values().next().value!;
    buckets[lowest]!.delete(node);
    step[node] = j;
    const column = [...neighbours[node]!];
    columns.push(column);
    for (const a of column) {
      const set = neighbours[a]!;
      set.delete(node);
      for (const b of column) if (b !== a) set.add(b);
      buckets[degree[a]!]!.delete(a);
      degree[a] = set.size;
      file(a);
      if (set.size < lowest) lowest = set.size;
    }
  }
  return columns;
}

/** Turns the matrix in `values` into its factor. Returns the elimination step whose pivot failed, or -1. */
export function factorise(system: LinearSystem): number {
  const { size, values, columnStart, programme } = system;
  let next = 0;
  for (let j = 0; j < size; j++) {
    const pivot = values[j]!;
    if (!(pivot > 0)) return j;
    const inverse = 1 / pivot;
    values[j] = inverse;
    const end = size + columnStart[j + 1]!;
    for (let p = size + columnStart[j]!; p < end; p++) {
      const scaled = values[p]! * inverse;
      for (let q = p; q < end; q++) values[programme[next++]!]! -= scaled * values[q]!;
      values[p] = scaled;
    }
  }
  return -1;
}

/** Solves in place with the factor; right-hand side and solution are in order of elimination. */
export function substitute(system: LinearSystem, x: Float64Array): void {
  const { size, values, columnStart, row } = system;
  for (let j = 0; j < size; j++) {
    const known = x[j]!;
    if (known === 0) continue;
    for (let p = columnStart[j]!; p < columnStart[j + 1]!; p++) x[row[p]!]! -= values[size + p]! * known;
  }
  for (let j = size - 1; j >= 0; j--) {
    let sum = x[j]! * values[j]!;
    for (let p = columnStart[j]!; p < columnStart[j + 1]!; p++) sum -= values[size + p]! * x[row[p]!]!;
    x[j] = sum;
  }
}
