/** No tender gets through. Size: minutes. */
import type { EventKind } from './event-kind.ts';

export const refillLate = {
  causes: ['tank-low'],
  at: 'source',
  size: 30,
  creeps: true,
  endsAfterS: (size) => 60 * size,
  says: 'no tender gets through, whoever was to come; size: minutes',
  set: (plant, at, size) => {
    plant.conditions.refillHeld[at] = size === null ? 0 : 1;
  },
} as const satisfies EventKind;
