/** An impact head stops turning; nothing that the plant computes depends on it. */
import type { EventKind } from './event-kind.ts';

export const headStalled = {
  causes: ['head-stalled'],
  at: 'head',
  size: 1,
  says: 'an impact head stops turning and beating; its flow stays',
  set: (plant, at, size) => {
    plant.conditions.headStalled[at] = size === null ? 0 : 1;
  },
} as const satisfies EventKind;
