/** A gate is shut that nobody ordered shut. Size: opening. */
import type { EventKind } from './event-kind.ts';

export const gateShut = {
  causes: ['gate-shut'],
  at: 'gate',
  size: 0,
  most: 1,
  says: 'a gate is shut that nobody ordered shut',
  set: (plant, at, size) => {
    plant.conditions.gateOpening[at] = size ?? plant.layout.gates[at]!.opening;
  },
} as const satisfies EventKind;
