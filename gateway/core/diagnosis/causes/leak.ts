/** Water is lost at a nozzle's or a hose's coupling. Size: coefficient over that of the hose's open bore. */
import { type Hypothesis, onLine, type Physics, type Where } from './hypothesis.ts';
import { openEndK } from './open-end.ts';

const HEAD_WEIGHT = 0.1;
const HOSE_WEIGHT = 0.4;

export const leak: Physics = {
  atHead: ({ network }, { id, line, feeder }) =>
    leakAt(network.nodeOfHead.get(id)!, feeder.boreM, HEAD_WEIGHT, { place: id, subject: line, subjectKind: 'line' }),
  atHose: ({ network }, hose) => leakAt(network.nodeOfPlace.get(hose.to)!, hose.kit.boreM, HOSE_WEIGHT, onLine(hose)),
};

function leakAt(node: number, boreM: number, weight: number, where: Where): Hypothesis {
  const open = openEndK(boreM);
  return {
    ...where,
    cause: 'leak',
    weight,
    size: { fixed: false, low: 0.001, high: 0.35 },
    effect: {
      kind: 'network',
      slope: { parameter: { kind: 'leak', node }, perSize: open },
      apply: (settings, size) => {
        settings.leakK[node]! += size * open;
      },
    },
  };
}
