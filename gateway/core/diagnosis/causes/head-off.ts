/** A head came off its fitting: its feeder ends open. In: a head. Out: the hypothesis that it is gone. */
import type { Physics } from './hypothesis.ts';

/** Judgement: light heads come off far more readily than those on stands. */
const LIGHT_WEIGHT = 1;
const HEAVY_WEIGHT = 0.15;

export const headOff: Physics = {
  atHead: (_lay, head, index) => ({
    cause: 'head-off',
    place: head.id,
    subject: head.line,
    subjectKind: 'line',
    weight: head.kit.light ? LIGHT_WEIGHT : HEAVY_WEIGHT,
    size: { fixed: true, spread: 0.12 },
    effect: {
      kind: 'network',
      slope: null,
      apply: (settings) => {
        settings.headOff[index] = 1;
      },
    },
  }),
};
