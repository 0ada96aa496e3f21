/**
 * Which findings are only what another one does: one cause, one alarm.
 *
 * In: a finding, and those that stand by themselves (of the pump, of the sensors). Out: whether it is a symptom: what a
 * trouble at the pump does to the lay is not a second one, nor what a sensor shows by itself.
 */
import type { Finding } from './finding.ts';

/** Causes at the pump that drag the whole lay with them, and how long before them their symptoms may start. */
const DRAGGING = ['pump-stop', 'dead-head', 'suction-trouble'];
export const SYMPTOM_MS = 30_000;

export function isSymptom(finding: Finding, plain: readonly Finding[]): boolean {
  return plain.some(
    (other) =>
      other.key === finding.key || (DRAGGING.includes(other.cause) && finding.sinceMs > other.sinceMs - SYMPTOM_MS),
  );
}
