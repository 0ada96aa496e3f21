/** Whether gates and throttle are as they were when a baseline was taken: what it says is sharp only there. */
import type { Boundary } from '../model/gauge.ts';

export type Walked = 'same' | 'other-gates' | 'other-throttle';

/** Judgement: settings tell something new when a discharge pressure differs by a twelfth, with the same gates open. */
const OTHER_THROTTLE = 1 / 12;

export function isOtherThrottle(earlier: Boundary, now: Boundary): boolean {
  return hasSameGates(earlier, now) && isOtherPressure(earlier, now);
}

/** `taken`: of the baselines so far. */
export function walkedAs(taken: readonly Boundary[], now: Boundary): Walked {
  const gates = taken.filter((earlier) => hasSameGates(earlier, now));
  if (gates.length === 0) return 'other-gates';
  return gates.every((earlier) => isOtherPressure(earlier, now)) ? 'other-throttle' : 'same';
}

function hasSameGates(earlier: Boundary, now: Boundary): boolean {
  return earlier.gateOpening.every((opening, gate) => opening === now.gateOpening[gate]);
}

function isOtherPressure(earlier: Boundary, now: Boundary): boolean {
  return earlier.dischargePa.some((pressure, pump) => Math.abs(pressure / now.dischargePa[pump]! - 1) > OTHER_THROTTLE);
}
