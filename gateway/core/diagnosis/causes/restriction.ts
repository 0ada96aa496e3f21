/** A hose is kinked or crushed. In: a hose. Out: the hypothesis; size: extra resistance over the hose's own. */
import { onLine, type Physics } from './hypothesis.ts';

export const restriction: Physics = {
  atHose: ({ network }, hose) => {
    const pipe = network.pipeOfHose.get(hose.id)!;
    return {
      ...onLine(hose),
      cause: 'restriction',
      weight: 0.3,
      size: { fixed: false, low: 0.3, high: 1e5 },
      effect: {
        kind: 'network',
        slope: { parameter: { kind: 'hose-factor', pipe }, perSize: 1 },
        apply: (settings, size) => {
          settings.hoseFactor[pipe]! *= 1 + size;
        },
      },
    };
  },
};
