/** The engine stops, at once or when its can is empty. */
import type { EventKind } from './event-kind.ts';

export const pumpStop = {
  causes: ['pump-stop'],
  at: 'pump',
  size: 0,
  says: 'the engine stops',
  set: (plant, at, size) => {
    plant.conditions.engineShare[at] = size ?? 1;
  },
} as const satisfies EventKind;

export const fuelOut = {
  causes: ['pump-stop'],
  at: 'pump',
  size: 0.05,
  says: 'the can was short; size: litres left. Repair fills it',
  set: (plant, at, size) => {
    plant.fuelM3[at] = size === null ? 0.95 * plant.layout.pumps[at]!.fuelCapacityM3 : size / 1_000;
  },
} as const satisfies EventKind;
