/** A gate is shut, or was moved as people ordered. In: a gate. Out: the hypothesis. Openings: 0 shut to 1 open. */
import type { Layout } from '../../../../config/layout/layout.ts';
import { type Hypothesis, onLine, type Physics } from './hypothesis.ts';

export const gateShut: Physics = {
  atGate: ({ network }, gate) => ({
    ...onLine(gate),
    cause: 'gate-shut',
    weight: 0.7,
    size: { fixed: true, spread: 0.03 },
    effect: setTo(network.gateIndex.get(gate.id)!, 0),
  }),
};

/**
 * Judgement: whoever was told to move a gate mostly does; while a line fills or runs empty it draws up to a third more
 * or less than it will.
 */
const ORDERED_WEIGHT = 1_000;
const ORDERED_SPREAD = 0.3;

/** A gate that was ordered to another position has been moved: nothing is wrong then. */
export function orderedMove(layout: Layout, gate: number, opening: number): Hypothesis {
  return {
    ...onLine(layout.gates[gate]!),
    cause: 'gate-shut',
    weight: ORDERED_WEIGHT,
    size: { fixed: true, spread: ORDERED_SPREAD },
    moves: gate,
    effect: setTo(gate, opening),
  };
}

function setTo(gate: number, opening: number): Hypothesis['effect'] {
  return {
    kind: 'network',
    slope: null,
    apply: (settings) => {
      settings.gateOpening[gate] = opening;
    },
  };
}
