/**
 * The layout parser under texts that are no layout, or were one: it answers with faults that point into the text.
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { faultsOf, SITE } from './site-text.ts';

describe('hostile text', () => {
  const verdict = (text: string): void => {
    const parsed = parseLayout(text, 'test.yaml');
    if (parsed.ok) return;
    expect(parsed.faults.length).toBeGreaterThan(0);
    for (const fault of parsed.faults) {
      expect(fault.line).toBeGreaterThanOrEqual(1);
      expect(fault.line).toBeLessThanOrEqual(text.split(/\r\n|\r|\n/).length);
      expect(fault.problem).not.toBe('');
      expect(fault.remedy).not.toBe('');
    }
  };

  test('any text is answered with faults, never with an exception', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 300 }), verdict));
  });

  test('a site with a stretch cut out, doubled or overwritten is answered too', () => {
    const spot = fc.nat(SITE.length);
    const noise = fc.string({ unit: fc.constantFrom(...'{}[]:,&*?-|>#\'"%@` \n\tab1'), maxLength: 12 });
    fc.assert(
      fc.property(spot, spot, noise, (a, b, put) =>
        verdict(SITE.slice(0, Math.min(a, b)) + put + SITE.slice(Math.max(a, b))),
      ),
      { numRuns: 150 },
    );
  });

  test('a value that is taken away never leaves a layout with a hole in it', () => {
    const rows = SITE.split('\n');
    fc.assert(
      fc.property(fc.nat(rows.length - 1), (row) => {
        const parsed = parseLayout(rows.filter((_, index) => index !== row).join('\n'), 'test.yaml');
        const hole = (_: string, value: unknown): unknown =>
          (typeof value === 'number' && !Number.isFinite(value)) || value === '' ? 'HOLE' : value;
        expect(parsed.ok ? JSON.stringify(parsed.layout, hole) : '').not.toContain('HOLE');
      }),
    );
  });

  test('marks that point at themselves or at nothing end', () => {
    for (const text of [
      'heads: &h { a: *h }',
      'heads: *nowhere',
      '&a name: &a x',
      `x: &x [${'*x, '.repeat(20_000)}]`,
    ]) {
      expect(faultsOf(text).length).toBeGreaterThan(0);
    }
  });
});
