/**
 * One cause, one alarm: what a trouble at the pump does to the lay is not a second one, nor what a sensor shows by
 * itself.
 *
 * In: findings of the lay, findings that stand by themselves, since when there is next to no flow (ms). Out: those of
 * the lay that are no symptom of the others.
 */
import type { Finding } from './finding.ts';

/** Causes at the pump that drag the whole lay with them, and how long before them their symptoms may start. */
const DRAGGING = ['pump-stop', 'dead-head', 'suction-trouble'];
const SYMPTOM_MS = 30_000;

export function withoutSymptoms(
  ofLay: readonly Finding[],
  plain: readonly Finding[],
  pinchedMs: readonly (number | null)[],
): Finding[] {
  // What may be a dead-head in a moment is no trouble of the trunk meanwhile.
  const firstMs = Math.min(Infinity, ...pinchedMs.map((sinceMs) => sinceMs ?? Infinity));
  return ofLay.filter((finding) => !isSymptom(finding, plain) && finding.sinceMs <= firstMs - SYMPTOM_MS);
}

function isSymptom(finding: Finding, plain: readonly Finding[]): boolean {
  return plain.some(
    (other) =>
      other.key === finding.key || (DRAGGING.includes(other.cause) && finding.sinceMs > other.sinceMs - SYMPTOM_MS),
  );
}
