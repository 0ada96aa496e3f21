/** What sensors do instead of measuring: sensors.ts plays it, the plant knows nothing of it. */
import { type EventKind, nothing } from './event-kind.ts';

export const sensorSilent = {
  causes: ['sensor-silent'],
  at: 'sensor',
  size: 1,
  says: 'a sensor sends nothing',
  set: nothing,
} as const satisfies EventKind;

export const sensorStuck = {
  causes: ['sensor-stuck'],
  at: 'sensor',
  size: 1,
  says: 'a sensor repeats its last value',
  set: nothing,
} as const satisfies EventKind;

export const sensorIced = {
  causes: ['sensor-stuck', 'sensor-drift'],
  at: 'sensor',
  size: 2,
  says: 'ice shuts the stub of a pressure sensor: it holds what is locked in; size: kPa a minute that the ice adds',
  set: nothing,
} as const satisfies EventKind;

export const sensorDrift = {
  causes: ['sensor-drift'],
  at: 'sensor',
  size: 10,
  says: 'a pressure sensor drifts; size: kPa a minute',
  set: nothing,
} as const satisfies EventKind;

export const sensorSwapped = {
  causes: ['sensor-swapped'],
  at: 'sensor',
  size: 1,
  says: 'a sensor and the next of its kind trade places',
  set: nothing,
} as const satisfies EventKind;
