/** The engine loses speed, or the pump makes less of its curve. Size: what is left. */
import { type EventKind, grown } from './event-kind.ts';

const FADE_S = 60;

export const pumpFade = {
  causes: ['pump-fade'],
  at: 'pump',
  size: 0.8,
  most: 1,
  creeps: true,
  says: 'the engine loses speed over a minute; size: what is left',
  set: (plant, at, size, elapsedS) => {
    plant.conditions.engineShare[at] = size === null ? 1 : 1 - (1 - size) * grown(elapsedS, FADE_S);
  },
} as const satisfies EventKind;

export const pumpWorn = {
  causes: ['pump-fade'],
  at: 'pump',
  size: 0.85,
  most: 1,
  says: 'the pump makes less of its curve; size: what is left',
  set: (plant, at, size) => {
    plant.conditions.curveShare[at] = size ?? 1;
  },
} as const satisfies EventKind;
