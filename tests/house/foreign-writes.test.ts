/**
 * Nobody writes into the fields of somebody else's object: what a class holds is changed by its own verbs, so that
 * nothing flows uphill unseen, such as a flag that the diagnosis sets on a channel.
 */
import ts from 'typescript';
import { join, relative } from 'node:path';
import { expect, it } from 'vitest';
import { ROOT, sourceFiles } from './source-files.ts';

/** 'file:line field' of each assignment to a field of a class of ours from outside it. `more`: files by path. */
function foreignWrites(paths: readonly string[], more: ReadonlyMap<string, string> = new Map()): string[] {
  const { config } = ts.readConfigFile(join(ROOT, 'tsconfig.json'), ts.sys.readFile) as { config: unknown };
  const { options } = ts.parseJsonConfigFileContent(config, ts.sys, ROOT);
  const host = ts.createCompilerHost(options);
  const read = host.readFile.bind(host);
  host.readFile = (path) => more.get(path) ?? read(path);
  host.fileExists = (path) => more.has(path) || ts.sys.fileExists(path);
  const program = ts.createProgram([...paths, ...more.keys()], options, host);
  const checker = program.getTypeChecker();
  const isOurs = (path: string): boolean => path.startsWith(ROOT) && !path.includes('node_modules');
  const found: string[] = [];
  const visit = (node: ts.Node, file: ts.SourceFile): void => {
    const written = writtenIn(node);
    if (written && written.expression.kind !== ts.SyntaxKind.ThisKeyword) {
      const [declared] = checker.getSymbolAtLocation(written.name)?.declarations ?? [];
      const isField = declared && ts.isClassDeclaration(declared.parent) && isOurs(declared.getSourceFile().fileName);
      const line = file.getLineAndCharacterOfPosition(written.getStart()).line + 1;
      if (isField) found.push(`${relative(ROOT, file.fileName)}:${line} ${written.getText()}`);
    }
    ts.forEachChild(node, (child) => visit(child, file));
  };
  for (const file of program.getSourceFiles()) if (isOurs(file.fileName)) visit(file, file);
  return found;
}

function writtenIn(node: ts.Node): ts.PropertyAccessExpression | null {
  const { FirstAssignment, LastAssignment } = ts.SyntaxKind;
  const target = ts.isBinaryExpression(node)
    ? node.operatorToken.kind >= FirstAssignment && node.operatorToken.kind <= LastAssignment && node.left
    : (ts.isPrefixUnaryExpression(node) || ts.isPostfixUnaryExpression(node)) &&
      (node.operator === ts.SyntaxKind.PlusPlusToken || node.operator === ts.SyntaxKind.MinusMinusToken) &&
      node.operand;
  return target && ts.isPropertyAccessExpression(target) ? target : null;
}

it('has nobody write into the fields of an object that is not its own', { timeout: 120_000 }, () => {
  const sample = new Map([
    [join(ROOT, 'gateway/sample-a.ts'), 'export class Gauge { blocked = false; count = 0; }'],
    [
      join(ROOT, 'gateway/sample-b.ts'),
      "import { Gauge } from './sample-a.ts';\nexport const block = (gauge: Gauge): void => {\n  " +
        'gauge.blocked = true;\n  gauge.count += 1;\n  gauge.count++;\n};',
    ],
  ]);
  expect(foreignWrites([], sample)).toEqual([
    'gateway/sample-b.ts:3 gauge.blocked',
    'gateway/sample-b.ts:4 gauge.count',
    'gateway/sample-b.ts:5 gauge.count',
  ]);
  const gateway = sourceFiles().filter(({ path }) => path.startsWith('gateway/') && path.endsWith('.ts'));
  expect(gateway.length).toBeGreaterThan(100);
  expect(foreignWrites(gateway.map(({ path }) => join(ROOT, path)))).toEqual([]);
});
