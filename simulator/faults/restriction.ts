/** Feeders and hoses kinked or frozen. Size: factor on the resistance. */
import { type EventKind, grown } from './event-kind.ts';

const FREEZE_S = 300;
/** As good as shut, and still a number for the solver. */
const BLOCKED_FACTOR = 1e7;

export const feederKinked = {
  causes: ['restriction', 'plug'],
  at: 'head',
  size: 60,
  says: "a head's feeder is kinked; size: factor on its resistance",
  set: (plant, at, size) => {
    plant.conditions.feederFactor[at] = size ?? 1;
  },
} as const satisfies EventKind;

export const restriction = {
  causes: ['restriction'],
  at: 'hose',
  size: 40,
  says: 'a hose is kinked; size: factor on its resistance',
  set: (plant, at, size) => {
    plant.conditions.hoseFactor[at] = size ?? 1;
  },
} as const satisfies EventKind;

export const frozen = {
  causes: ['restriction', 'gate-shut'],
  at: 'hose',
  size: 1,
  most: 1,
  creeps: true,
  says: 'a hose freezes shut over five minutes; size: share of its bore lost at the end',
  set: (plant, at, size, elapsedS) => {
    const open = 1 - (size ?? 0) * grown(elapsedS, FREEZE_S);
    plant.conditions.hoseFactor[at] = Math.min(BLOCKED_FACTOR, Math.max(open, 1e-3) ** -2.5);
  },
} as const satisfies EventKind;
