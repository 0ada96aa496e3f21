/**
 * What the answer of What if says of each pump: its suction, and the danger of a pump that would run with no flow.
 *
 * In: the layout's pump and its flow in the answer, m3/s. Out: words. Next to no flow heats the water that the pump
 * holds: then its suction is not judged, and the warning is said. It says what would be, not what is.
 */
import type { Pump } from '../../config/layout/layout.ts';
import { DEADHEAD_WARNING } from '../../config/safety.ts';
import type { Answer } from '../../gateway/core/hydraulics/what-if.ts';
import { isFlowless, NO_FLOW } from './pump-question.ts';
import { SUCTIONS } from './standings.ts';
import type { StateWords } from './marks.ts';

type AnsweredPump = Answer['pumps'][number];

export function suctionIf(pump: Pump, answer: AnsweredPump): StateWords {
  return isFlowless(pump, answer) ? NO_FLOW : SUCTIONS[answer.suction];
}

/** Null: water would run through every pump, or the model has no answer. */
export function deadheadIf(pumps: readonly Pump[], { fault, pumps: answers }: Answer): string | null {
  if (fault !== null) return null;
  const names = pumps
    .filter((pump) => answers.some((answer) => answer.id === pump.id && isFlowless(pump, answer)))
    .map(({ label }) => (pumps.length === 1 ? 'the pump' : label));
  if (names.length === 0) return null;
  return `So set, ${names.join(' and ')} ${names.length === 1 ? 'runs' : 'run'} with no flow. ${DEADHEAD_WARNING}`;
}
