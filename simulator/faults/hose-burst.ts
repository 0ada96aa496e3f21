/** A hose parts at its far end, at once or as it burns through. Size: share of its bore. */
import { bore, endOf, type EventKind, grown } from './event-kind.ts';

const BURN_S = 8;

export const hoseBurst = {
  causes: ['hose-burst'],
  at: 'hose',
  size: 1,
  most: 1,
  says: 'a hose parts at its far end',
  set: (plant, at, size) => {
    plant.conditions.burstM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at);
  },
} as const satisfies EventKind;

export const hoseBurned = {
  causes: ['hose-burst'],
  at: 'hose',
  size: 1,
  most: 1,
  creeps: true,
  says: 'a hose burns through within seconds',
  set: (plant, at, size, elapsedS) => {
    plant.conditions.burstM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at) * grown(elapsedS, BURN_S);
  },
} as const satisfies EventKind;
