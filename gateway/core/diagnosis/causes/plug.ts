/** A nozzle is plugged. In: a head. Out: the hypothesis; size: share of the nozzle shut, 0 to 1. */
import type { Physics } from './hypothesis.ts';

export const plug: Physics = {
  atHead: (_lay, head, index) => ({
    cause: 'plug',
    place: head.id,
    subject: head.line,
    subjectKind: 'line',
    weight: 0.5,
    size: { fixed: false, low: 0.08, high: 1 },
    effect: {
      kind: 'network',
      slope: { parameter: { kind: 'head-factor', head: index }, perSize: -1 },
      apply: (settings, size) => {
        settings.headFactor[index]! *= 1 - Math.min(1, size);
      },
    },
  }),
};
