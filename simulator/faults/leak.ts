/** A hole at a hose's far end. Size: share of its bore. */
import { bore, endOf, type EventKind, grown } from './event-kind.ts';

const WEEP_S = 900;

export const leak = {
  causes: ['leak'],
  at: 'hose',
  size: 0.05,
  most: 1,
  says: "a leak at a hose's far end; size: share of its bore",
  set: (plant, at, size) => {
    plant.conditions.holeM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at);
  },
} as const satisfies EventKind;

export const gasketWeep = {
  causes: ['leak'],
  at: 'hose',
  size: 0.06,
  most: 1,
  creeps: true,
  says: "a gasket at a hose's far end weeps, and grows over 15 minutes; size: share of its bore at the end",
  set: (plant, at, size, elapsedS) => {
    plant.conditions.holeM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at) * grown(elapsedS, WEEP_S) ** 2;
  },
} as const satisfies EventKind;
