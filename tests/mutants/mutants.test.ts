/**
 * The tester of tests: which bugs it knows, that its list is fixed, and that it tells a bug that is noticed from one
 * that is not.
 */
import { describe, expect, it } from 'vitest';
import { chosen, productFiles } from './choice.ts';
import { mutantsOf, withMutant } from './operators.ts';
import { ROOMS } from './rooms.ts';
import { ROOT } from '../house/source-files.ts';

const TEXT = `import { x } from './three-3.ts';
const LIMIT_S = 45;
export function f(a: number, b: 1 | 2): string {
  if (a < LIMIT_S && !b) note('Stay away from the pump, let it cool.');
  return a === 0 ? 'no' : \`\${Math.max(a, b) + 1}\`;
}`;

describe('mutants', () => {
  it('swaps operators, branches and calls, slips a digit, drops a statement or a clause', () => {
    const said = mutantsOf('f.ts', TEXT).map((mutant) => withMutant(TEXT, mutant).split('\n')[mutant.line - 1]!.trim());
    expect(said).toEqual([
      'const LIMIT_S = 56.25;',
      "if (a >= LIMIT_S && !b) note('Stay away from the pump, let it cool.');",
      "if (a < LIMIT_S || !b) note('Stay away from the pump, let it cool.');",
      "if (a < LIMIT_S && b) note('Stay away from the pump, let it cool.');",
      'if (a < LIMIT_S && !b) ;',
      'if (a < LIMIT_S && !b) note("let it cool.");',
      "return a !== 0 ? 'no' : `${Math.max(a, b) + 1}`;",
      "return a === 1 ? 'no' : `${Math.max(a, b) + 1}`;",
      "return a === 0 ? `${Math.max(a, b) + 1}` : 'no';",
      "return a === 0 ? 'no' : `${Math.min(a, b) + 1}`;",
      "return a === 0 ? 'no' : `${Math.max(a, b) - 1}`;",
      "return a === 0 ? 'no' : `${Math.max(a, b) + 2}`;",
    ]);
  });

  it('gives a mutant the same name as long as its own line stands', () => {
    const ids = (text: string): string[] => mutantsOf('f.ts', text).map(({ id }) => id);
    const [before, after] = [ids(TEXT), ids(`// A line more.\n${TEXT.replace('45', '46')}`)];
    expect(after.filter((id) => before.includes(id))).toEqual(before.slice(1));
    expect(new Set(before).size).toBe(before.length);
    expect(mutantsOf('moved/to/g.ts', TEXT).map(({ id }) => id)).toEqual(before);
    const two = [
      { path: 'config/units.ts', text: TEXT },
      { path: 'config/kit/kit.ts', text: TEXT },
    ];
    expect(new Set(chosen(two, null).map(({ id }) => id)).size).toBe(2 * before.length);
  });

  it('has a fixed list of at least 300 over all rooms', () => {
    const list = chosen(productFiles(ROOT), null);
    expect(list.length).toBeGreaterThanOrEqual(300);
    for (const { files, share, name } of ROOMS)
      expect(list.filter(({ path }) => files.test(path)).length, name).toBe(share);
    expect(chosen(productFiles(ROOT), null).map(({ id }) => id)).toEqual(list.map(({ id }) => id));
  });

  it('takes every mutant of lines that changed, and no other', () => {
    const files = [{ path: 'config/units.ts', text: TEXT }];
    const found = chosen(files, new Map([['config/units.ts', new Set([2])]]));
    expect(found.map(({ line, after }) => ({ line, after }))).toEqual([{ line: 2, after: '56.25' }]);
    expect(chosen(files, new Map())).toEqual([]);
  });
});
