/** A tank leaks. Size: L/min. */
import type { EventKind } from './event-kind.ts';

export const tankLeak = {
  causes: ['tank-leak'],
  at: 'source',
  size: 60,
  says: 'the tank leaks; size: L/min',
  set: (plant, at, size) => {
    plant.conditions.sourceLeakM3s[at] = (size ?? 0) / 60_000;
  },
} as const satisfies EventKind;
