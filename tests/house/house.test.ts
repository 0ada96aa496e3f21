/** The house's own rules on how a file is written, named and headed, and on what stands at the top level. */
import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import ts from 'typescript';
import { ROOT, SourceFile, sourceFiles } from './source-files.ts';
import { namesUsed, nodesOf, takenFrom } from './syntax.ts';

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

/** What nobody writes. A namespace that adds to a declared one, as of a library, is none of ours. */
function unwanted({ path, trees }: SourceFile): string[] {
  return [...nodesOf(trees)].flatMap((node) => {
    if (node.kind === ts.SyntaxKind.AnyKeyword) return ['any'];
    if (ts.isEnumDeclaration(node)) return ['enum'];
    if (ts.isModuleDeclaration(node) && ts.isIdentifier(node.name) && node.name.text !== 'global') return ['namespace'];
    const isDefault = ts.isExportAssignment(node) || node.kind === ts.SyntaxKind.DefaultKeyword;
    return isDefault && !ts.isDefaultClause(node.parent) && !DEFAULT_EXPORTS.has(path) ? ['default export'] : [];
  });
}

const OFF = ['only', 'todo', 'skip', 'fails', 'skipIf', 'runIf'];

/** Ways in which a test is not run: but `skipIf(missing(…))` and `skipIf(noPROGRAM)`, for what the machine lacks. */
function switchedOff({ trees }: SourceFile): string[] {
  return [...nodesOf(trees)].flatMap((node) => {
    const name = ts.isIdentifier(node) || ts.isStringLiteralLike(node) ? node.text : '';
    if (!OFF.includes(name)) return [];
    const { parent } = node;
    const isMember = ts.isPropertyAccessExpression(parent) && parent.name === node;
    const isKey = ts.isElementAccessExpression(parent) && parent.argumentExpression === node;
    const isOption =
      ts.isPropertyAssignment(parent) && parent.name === node && ts.isCallExpression(parent.parent.parent);
    if (!(isMember || isKey || isOption)) return [];
    const call = parent.parent;
    const isMissing = ts.isCallExpression(call) && /^(missing\(|no[A-Z])/.test(call.arguments[0]?.getText() ?? '');
    return name === 'skipIf' && isMember && isMissing ? [] : [name];
  });
}

const planted = (text: string): SourceFile => new SourceFile('a/b.ts', text);
const isTest = (file: SourceFile): boolean => file.path.startsWith('tests/');
const product = FILES.filter((file) => !isTest(file));
const typed = FILES.filter((file) => !file.path.endsWith('.mjs'));

describe('the house', () => {
  it('sees the files it judges', () => {
    expect(FILES.length).toBeGreaterThan(60);
  });

  it('leaves standard output to what survives its failure', () => {
    // A command that shows a new secret must not keep what it could not show.
    const asks = ['gateway/access/command.ts'];
    const found = breaches(product, (file) =>
      asks.includes(file.path)
        ? []
        : takenFrom(file.trees, 'process').filter((name) => ['stdout', 'stderr', '?'].includes(name)),
    );
    expect(found).toEqual([]);
    const runs = product.filter(
      (file) => file.path.startsWith('gateway/') && namesUsed(file.trees, ['console']).length > 0,
    );
    expect(runs.map(({ path }) => path).sort()).toEqual([
      'gateway/launch/check.ts',
      'gateway/launch/child.mjs',
      'gateway/launch/ready.mjs',
      'gateway/launch/run.mjs',
    ]);
  });

  it('writes no any, no default export, no enum, no namespace, no suppressed check', () => {
    expect(breaches(typed, unwanted)).toEqual([]);
    expect(
      breaches(typed, (file) =>
        /@ts-(ignore|nocheck|expect-error)|eslint-disable/.test(file.text) && !file.path.startsWith('tests/house/')
          ? ['a suppressed check']
          : [],
      ),
    ).toEqual([]);
  });

  it('is told of what is planted: each of them, also where words in sentences look like it', () => {
    const ways = ['let a: any;', 'const a = [] as any[];', 'enum A { B }', 'namespace A { export const b = 1; }'];
    const defaults = ['export default 1;', 'export default function a() {}'];
    for (const text of [...ways, ...defaults]) expect(unwanted(planted(text)), text).toHaveLength(1);
    expect(unwanted(planted("// any\nconst a = ': any'; switch (a) { default: }"))).toEqual([]);
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
    expect(breaches(tests, switchedOff)).toEqual([]);
    const fine = "it.skipIf(missing('mosquitto'))('x', act); it.skipIf(noBrowser)('x', act); row.skipped = 1;";
    expect(switchedOff(planted(fine))).toEqual([]);
    for (const text of [
      `it.${'only'}('x', act);`,
      "describe['skip']('x', act);",
      "it.runIf(false)('x', act);",
      "it.skipIf(true)('x', act);",
      "it('x', { skip: true }, act);",
      "it('x', ({ skip }) => act());\nit.todo('y');",
    ])
      expect(switchedOff(planted(text)), text).toHaveLength(1);
  });

  it('has nothing at the top level that does not belong there', () => {
    const listed = execFileSync('git', ['ls-files'], { cwd: ROOT, encoding: 'utf8' })
      .split('\n')
      .filter((path) => path !== '');
    const top = new Set(listed.map((path) => path.split('/')[0] ?? ''));
    expect([...top].filter((name) => !name.startsWith('.') && !TOP_LEVEL.includes(name))).toEqual([]);
  });
});
