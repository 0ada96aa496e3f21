/** A light head slips off its mount and sprays on, lower: what no gauge can show. */
import type { EventKind } from './event-kind.ts';

export const headSlipped = {
  causes: [],
  at: 'head',
  size: 2.5,
  most: 20,
  says: 'a light head slips off its mount and sprays on, lower; size: metres it fell',
  set: (plant, at, size) => {
    plant.conditions.headDropM[at] = size ?? 0;
  },
} as const satisfies EventKind;
