/** The house's own rules on how a file is written, named and headed, and on what stands at the top level. */
import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { codeOf, importsOf, ROOT, sourceFiles, type SourceFile } from './source-files.ts';

const FILES = sourceFiles();

/** Tools that demand a default export. */
const DEFAULT_EXPORTS = new Set(['tests/vitest.config.ts', 'ui/vite.config.ts', 'ui/svelte.config.ts']);
const TOP_LEVEL = [
  'README.md',
  'DEVELOPERS.md',
  'LICENSE',
  'package.json',
  'package-lock.json',
  'tsconfig.json',
  'config',
  'gateway',
  'simulator',
  'ui',
  'tests',
];

function breaches(files: readonly SourceFile[], broken: (file: SourceFile) => readonly string[]): string[] {
  return files.flatMap((file) => broken(file).map((what) => `${file.path}: ${what}`));
}

const isTest = (file: SourceFile): boolean => file.path.startsWith('tests/');
const product = FILES.filter((file) => !isTest(file));
const typed = FILES.filter((file) => !file.path.endsWith('.mjs'));

describe('the house', () => {
  it('sees the files it judges', () => {
    expect(FILES.length).toBeGreaterThan(60);
    expect(importsOf('a/b.ts', "import type { X } from '../c/d.ts';\nexport { y } from 'mqtt';")).toEqual([
      'c/d.ts',
      'mqtt',
    ]);
    expect(codeOf("const a = 'Date.now'; // Date.now\n/* Date.now */ b")).not.toContain('now');
  });

  it('leaves standard output to what survives its failure', () => {
    // A command that shows a new secret must not keep what it could not show.
    const asks = ['gateway/access/command.ts'];
    const found = breaches(product, (file) =>
      /\bprocess\.std(out|err)\b/.test(file.code) && !asks.includes(file.path) ? ['writes to it directly'] : [],
    );
    expect(found).toEqual([]);
    const runs = product.filter((file) => file.path.startsWith('gateway/') && /\bconsole\./.test(file.code));
    expect(runs.map(({ path }) => path).sort()).toEqual([
      'gateway/launch/check.ts',
      'gateway/launch/child.mjs',
      'gateway/launch/ready.mjs',
      'gateway/launch/run.mjs',
    ]);
  });

  it('writes no any, no default export, no enum, no namespace, no suppressed check', () => {
    expect(
      breaches(typed, (file) => (/[:<,|&(]\s*any\b(?!\()|\bas any\b|\bany\[\]/.test(file.code) ? ['any'] : [])),
    ).toEqual([]);
    expect(
      breaches(typed, (file) =>
        /^export default\b/m.test(file.code) && !DEFAULT_EXPORTS.has(file.path) ? ['default export'] : [],
      ),
    ).toEqual([]);
    expect(
      breaches(typed, (file) =>
        /^\s*(export\s+)?(const\s+)?enum\s|^\s*(export\s+)?namespace\s/m.test(file.code) ? ['enum or namespace'] : [],
      ),
    ).toEqual([]);
    expect(
      breaches(typed, (file) =>
        /@ts-(ignore|nocheck|expect-error)|eslint-disable/.test(file.text) && !file.path.startsWith('tests/house/')
          ? ['a suppressed check']
          : [],
      ),
    ).toEqual([]);
  });

  it('names files after nouns of the trade', () => {
    expect(
      breaches(FILES, (file) =>
        /(^|[/-])(utils?|helpers?|common|managers?|services?|misc)([-./]|$)/.test(file.path) ? ['name'] : [],
      ),
    ).toEqual([]);
    expect(
      breaches(FILES, (file) =>
        /\/[a-z0-9-]+(\.(test|svelte|d))?\.(ts|mjs)$|\/[A-Z][A-Za-z]*\.svelte$|^ui\/(vite\.config|svelte\.config)\.ts$|^tests\/vitest\.config\.ts$/.test(
          file.path,
        )
          ? []
          : ['spelling'],
      ),
    ).toEqual([]);
  });

  it('opens every file with what it is for', () => {
    expect(
      breaches(product, (file) =>
        /^(<!--|\/\*\*|(<script[^>]*>\s*(\/\*\*|\/\/)))/.test(file.text.trimStart()) ? [] : ['no header comment'],
      ),
    ).toEqual([]);
  });

  it('lets no test be switched off, except for what the machine lacks', () => {
    const tests = FILES.filter((file) => isTest(file) && !file.path.startsWith('tests/house/'));
    expect(
      breaches(tests, (file) => (/\.(only|todo|skip|fails)\b(?!If)/.test(file.code) ? ['a test switched off'] : [])),
    ).toEqual([]);
    expect(
      breaches(tests, (file) =>
        /\bskipIf\(/.test(file.code) && !/\bskipIf\((missing\(|no[A-Z])/.test(file.code)
          ? ['skipped for another reason than a missing program']
          : [],
      ),
    ).toEqual([]);
  });

  it('has nothing at the top level that does not belong there', () => {
    const listed = execFileSync('git', ['ls-files'], { cwd: ROOT, encoding: 'utf8' })
      .split('\n')
      .filter((path) => path !== '');
    const top = new Set(listed.map((path) => path.split('/')[0] ?? ''));
    expect([...top].filter((name) => !name.startsWith('.') && !TOP_LEVEL.includes(name))).toEqual([]);
  });
});
