/** A finding about one thing with nothing more to say of it, to be changed where a test cares. */
import type { Cause } from '../../config/wire/wire.ts';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';

export function blankFinding(cause: Cause, subject: string, changes: Partial<Finding> = {}): Finding {
  return {
    key: `${cause}:${subject}`,
    cause,
    subject,
    subjectKind: 'line',
    places: [],
    sinceMs: 0,
    probability: 0.9,
    sizeM3s: null,
    evidence: [],
    rivals: [],
    question: null,
    facts: {},
    ...changes,
  };
}
