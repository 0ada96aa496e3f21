/** A hose burst or parted at its far end: its whole bore is open to the air. In: a hose. Out: the hypothesis. */
import { onLine, type Physics } from './hypothesis.ts';
import { openEndK } from './open-end.ts';

export const hoseBurst: Physics = {
  atHose: ({ network }, hose) => {
    const node = network.nodeOfPlace.get(hose.to)!;
    const open = openEndK(hose.kit.boreM);
    return {
      ...onLine(hose),
      cause: 'hose-burst',
      weight: 0.1,
      size: { fixed: true, spread: 0.35 },
      effect: {
        kind: 'network',
        slope: null,
        apply: (settings) => {
          settings.leakK[node]! += open;
        },
      },
    };
  },
};
