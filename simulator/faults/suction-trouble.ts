/** Air in the suction, a strainer that clogs, water that falls away from it. */
import { type EventKind, grown } from './event-kind.ts';

const CLOG_S = 600;
const AIR_S = 240;

export const suctionTrouble = {
  causes: ['suction-trouble'],
  at: 'pump',
  size: 0.9,
  most: 1,
  says: 'air gets into the suction; size: share',
  set: (plant, at, size) => {
    plant.conditions.suctionAir[at] = size ?? 0;
  },
} as const satisfies EventKind;

export const suctionAirLeak = {
  causes: ['suction-trouble'],
  at: 'pump',
  size: 0.4,
  most: 1,
  creeps: true,
  says: 'a suction coupling draws air, more over four minutes; size: share at the end',
  set: (plant, at, size, elapsedS) => {
    plant.conditions.suctionAir[at] = (size ?? 0) * grown(elapsedS, AIR_S);
  },
} as const satisfies EventKind;

export const strainerClogging = {
  causes: ['suction-trouble'],
  at: 'pump',
  size: 30,
  creeps: true,
  says: 'ash clogs the strainer over ten minutes; size: factor on the loss of the suction at the end',
  set: (plant, at, size, elapsedS) => {
    plant.conditions.suctionFactor[at] = size === null ? 1 : 1 + (size - 1) * grown(elapsedS, CLOG_S) ** 2;
  },
} as const satisfies EventKind;

export const sourceFalling = {
  causes: ['suction-trouble'],
  at: 'source',
  size: 0.05,
  creeps: true,
  says: 'the water falls away from the strainer; size: metres a minute',
  set: (plant, at, size, elapsedS) => {
    plant.conditions.sourceDropM[at] = ((size ?? 0) * elapsedS) / 60;
  },
} as const satisfies EventKind;
