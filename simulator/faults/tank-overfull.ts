/** A tender fills more than the tank holds. Size: L/min. */
import type { EventKind } from './event-kind.ts';

export const tankOverfilled = {
  causes: ['tank-overfull'],
  at: 'source',
  size: 2_500,
  says: 'a tender fills more than the tank holds; size: L/min',
  set: (plant, at, size) => {
    plant.conditions.sourceGainM3s[at] = (size ?? 0) / 60_000;
  },
} as const satisfies EventKind;
