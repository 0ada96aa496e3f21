/** Durations in a headline and on the radio: in the words of a duration, a range in one form, brackets never nested. */
import { describe, expect, it } from 'vitest';
import type { Cause, Verdict } from '../../config/wire/wire.ts';
import { verdictOf } from '../../gateway/core/alarms/wording.ts';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';
import { blankFinding } from '../support/blank-finding.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const told = (cause: Cause, subject: string, facts: Finding['facts']): Verdict =>
  verdictOf(blankFinding(cause, subject, { subjectKind: cause === 'tank-low' ? 'source' : 'channel', facts }), layout);
const left = (lowMin: number, bestMin: number, highMin: number): NonNullable<Finding['facts']['leftS']> => ({
  low: 60 * lowMin,
  best: 60 * bestMin,
  high: 60 * highMin,
});

describe('a silent gauge', () => {
  it('is silent for minutes and hours, not for a thousand seconds', () => {
    const said = (silentS: number): string => told('sensor-silent', 'end-c-pressure', { silentS }).headline;
    expect(said(45)).toBe('end of line C: no data (silent for 45 s)');
    expect(said(1_298)).toBe('end of line C: no data (silent for 22 min)');
    expect(said(9_300)).toBe('end of line C: no data (silent for 2 h 35 min)');
  });
});

describe('a tank that runs out', () => {
  it('has its range in brackets of its own, both ends in one form', () => {
    const said = (leftS: ReturnType<typeof left>, filling = false): string =>
      told('tank-low', 'tank', { leftS, filling }).headline.replace(/^[^:]*: /, '');
    expect(said(left(15, 18.9, 20))).toBe('tank low, about 18 min left (15 to 20 min)');
    expect(said(left(64, 90, 112))).toBe('tank low, about 90 min left (1 h 04 to 1 h 52 min)');
    expect(said(left(0, 0.9, 2))).toBe('tank low, under 1 min left (0 to 2 min)');
    expect(said(left(15, 18, 20), true)).toBe('tank low, about 18 min left (15 to 20 min), being filled');
  });

  it('says the same on the radio, as a sentence of its own', () =>
    expect(told('tank-low', 'tank', { leftS: left(15, 18, 20) }).radio).toMatch(
      /\. About 18 min left \(15 to 20 min\)\.$/,
    ));
});
