/** The non-return valve at a pump's outlet does not close: what it does to the lay is the plant's own (plant.ts). */
import type { EventKind } from './event-kind.ts';

export const checkValveStuck = {
  causes: [],
  at: 'pump',
  size: 1,
  says: 'the non-return valve stays open: the lay drains back when the pump stops',
  set: (plant, at, size) => {
    plant.conditions.valveStuck[at] = size === null ? 0 : 1;
  },
} as const satisfies EventKind;
