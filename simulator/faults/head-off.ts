/** A head comes off its fitting and leaves it open. */
import type { EventKind } from './event-kind.ts';

export const headOff = {
  causes: ['head-off'],
  at: 'head',
  size: 1,
  says: 'a head comes off its fitting',
  set: (plant, at, size) => {
    plant.conditions.headOff[at] = size === null ? 0 : 1;
  },
} as const satisfies EventKind;
