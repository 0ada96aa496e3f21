/**
 * One cause, one alarm: what a trouble at the pump does to the lay is not a second one, nor what a sensor shows by
 * itself; and what it did to the lay is over with it.
 *
 * In: findings of the pumps and sensors, second by second; a finding of the lay. Out: those of the
 * lay that are no symptoms; from when on they were symptoms of what has just ended (ms).
 */
import { CAUSES } from '../../../../config/causes/causes.ts';
import type { Finding } from './finding.ts';

/** How long before a cause at the pump that drags the lay with it its symptoms may start. */
const SYMPTOM_MS = 30_000;

export class Symptoms {
  #drags: readonly Finding[] = [];

  /** One second. Null: nothing that dragged the lay has ended, after which the lay comes up again over seconds. */
  ended(ofPumps: readonly Finding[]): { readonly fromMs: number; readonly keys: readonly string[] } | null {
    const drags = ofPumps.filter(({ cause }) => CAUSES[cause].drags);
    const gone = this.#drags.filter((one) => drags.every(({ key }) => key !== one.key));
    this.#drags = drags;
    if (gone.length === 0) return null;
    return { fromMs: Math.min(...gone.map(({ sinceMs }) => sinceMs)) - SYMPTOM_MS, keys: gone.map(({ key }) => key) };
  }
}

/** `pinchedMs`: of each pump since when there is next to no flow; null: there is. */
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
    (other) => other.key === finding.key || (CAUSES[other.cause].drags && finding.sinceMs > other.sinceMs - SYMPTOM_MS),
  );
}
