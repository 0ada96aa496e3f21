/**
 * Laterals: a head alone at the far end of its feeder. The solver takes feeder and nozzle as one link from the place
 * where the feeder begins to the air, which halves the equations of a usual lay and changes no answer.
 *
 * In: the parts of a network. Out: per head the pipe that is its lateral, or -1. Not a lateral: a feeder with a
 * non-return or laid from the head, a junction with anything else on it. A leak at the nozzle would split the flow
 * between feeder and nozzle: `isSplit` tells, and the solver then works on the same network without laterals.
 */
import type { Parts } from './parts.ts';
import type { Settings } from './settings.ts';

export interface Laterals {
  /** Per head: its lateral pipe; -1: none. */
  readonly pipe: Int32Array;
  /** Per pipe: the head whose lateral it is; -1: none. */
  readonly headOfPipe: Int32Array;
  /** Per junction: the head whose lateral ends there; -1: none. */
  readonly headOfNozzle: Int32Array;
}

export function noLaterals({ heads, pipes, junctions }: Parts): Laterals {
  return {
    pipe: new Int32Array(heads.length).fill(-1),
    headOfPipe: new Int32Array(pipes.length).fill(-1),
    headOfNozzle: new Int32Array(junctions.length).fill(-1),
  };
}

export function findLaterals(parts: Parts): Laterals {
  const laterals = noLaterals(parts);
  const uses = new Int32Array(parts.junctions.length);
  const use = (end: number) => {
    if (end >= 0) uses[end]!++;
  };
  for (const link of [...parts.pipes, ...parts.gates, ...parts.pumps]) {
    use(link.from);
    use(link.to);
  }
  for (const head of parts.heads) use(head.junction);
  const headAt = new Map(parts.heads.map((head, i) => [head.junction, i]));
  parts.pipes.forEach((pipe, i) => {
    const head = headAt.get(pipe.to);
    if (
      head === undefined ||
      uses[pipe.to] !== 2 ||
      pipe.from < 0 ||
      pipe.oneWay ||
      parts.heads[head]!.opensPa ||
      parts.junctions[pipe.to]!.demandM3s
    )
      return;
    laterals.pipe[head] = i;
    laterals.headOfPipe[i] = head;
    laterals.headOfNozzle[pipe.to] = head;
  });
  return laterals;
}

export function isSplit({ headOfNozzle }: Laterals, { leakK }: Pick<Settings, 'leakK'>): boolean {
  for (let i = 0; i < headOfNozzle.length; i++) if (headOfNozzle[i]! >= 0 && leakK[i] !== 0) return true;
  return false;
}
