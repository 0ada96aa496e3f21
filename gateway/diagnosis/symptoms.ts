/**
 * Which findings are what another one does to the lay, and no trouble of their own.
 *
 * In: a finding, and those of pumps and sensors. Out: yes or no. Limit: a trouble of the lay that begins in the half
 * minute before one at the pump is told once that is over.
 */
import type { Finding } from './finding.ts';

/** Causes at the pump that drag the whole lay with them, and how long before them their symptoms may start. */
const DRAGGING = ['pump-stop', 'dead-head', 'suction-trouble'];
export const SYMPTOM_MS = 30_000;

/**
 * One cause, one alarm: what a trouble at the pump does to the lay is not a second one, nor what a sensor shows by
 * itself.
 */
export function isSymptom(finding: Finding, plain: readonly Finding[]): boolean {
  return plain.some(
    (other) =>
      other.key === finding.key || (DRAGGING.includes(other.cause) && finding.sinceMs > other.sinceMs - SYMPTOM_MS),
  );
}
