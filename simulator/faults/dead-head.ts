/** Every gate is shut while the pump runs. */
import type { EventKind } from './event-kind.ts';

export const deadHead = {
  causes: ['dead-head'],
  at: 'pump',
  size: 0,
  says: 'every gate is shut while the pump runs',
  set: (plant, _at, size) => {
    plant.conditions.allShut[0] = size === null ? 0 : 1;
  },
} as const satisfies EventKind;
