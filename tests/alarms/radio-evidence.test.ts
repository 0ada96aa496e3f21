/** The reading that a radio sentence quotes is one of the thing it is about: never the end of another line. */
import { expect, it } from 'vitest';
import { verdictOf } from '../../gateway/core/alarms/wording.ts';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';
import { blankFinding } from '../support/blank-finding.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const reading = (channel: string) => ({ channel, measured: 2e5, expected: 3e5, tolerance: 1e4 });

function radio(changes: Partial<Finding>): string {
  const finding = blankFinding('leak', 'line-d', { key: 'outflow:line-d', ...changes });
  return verdictOf(finding, layout).radio;
}

it('of a line: its own end, though another is further out; without it the flow; else none', () => {
  const [c, d] = [reading('end-c-pressure'), reading('end-d-pressure')];
  const flow = { channel: 'flow', measured: 7e-3, expected: 6e-3, tolerance: 1e-4 };
  expect(radio({ evidence: [c, d, flow] })).toMatch(/\. End of line D \d/);
  expect(radio({ evidence: [c, flow] })).toMatch(/\. Pump flow \d/);
  expect(radio({ evidence: [c] })).not.toMatch(/End of line/);
});

it('of the pump: a gauge at that pump; of the trunk: whichever is furthest out', () => {
  const suction = reading('suction');
  const ends = [reading('end-c-pressure'), suction];
  expect(radio({ subject: 'pump', subjectKind: 'pump', cause: 'suction-trouble', evidence: ends })).toMatch(
    /\. Pump suction \S+ psi/,
  );
  expect(radio({ subject: 'trunk', subjectKind: 'trunk', evidence: ends })).toMatch(/\. End of line C \d/);
});
