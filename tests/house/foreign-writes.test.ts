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
  const fieldsOf = (type: ts.Type): boolean =>
    type.symbol?.declarations?.some((one) => ts.isClassLike(one) && isOurs(one.getSourceFile().fileName)) ?? false;
  const visit = (node: ts.Node, file: ts.SourceFile): void => {
    for (const written of writtenIn(node)) {
      const object = isAccess(written) ? written.expression : written;
      if (object.kind === ts.SyntaxKind.ThisKeyword) continue;
      const name = ts.isPropertyAccessExpression(written) ? written.name : null;
      const [declared] = (name && checker.getSymbolAtLocation(name)?.declarations) ?? [];
      const isField = declared && ts.isClassDeclaration(declared.parent) && isOurs(declared.getSourceFile().fileName);
      const line = file.getLineAndCharacterOfPosition(written.getStart()).line + 1;
      if (name ? isField : fieldsOf(checker.getTypeAtLocation(object)))
        found.push(`${relative(ROOT, file.fileName)}:${line} ${written.getText()}`);
    }
    ts.forEachChild(node, (child) => visit(child, file));
  };
  for (const file of program.getSourceFiles()) if (isOurs(file.fileName)) visit(file, file);
  return found;
}

const WRITING_CALLS = /^(?:Object\.(?:assign|define\w+)|Reflect\.(?:set|define\w+))$/;

const isAccess = (node: ts.Node): node is ts.PropertyAccessExpression | ts.ElementAccessExpression =>
  ts.isPropertyAccessExpression(node) || ts.isElementAccessExpression(node);

/** What is written to by this node: fields, by a dot or in brackets; or a whole object, by a call. */
function writtenIn(node: ts.Node): ts.Expression[] {
  const { FirstAssignment, LastAssignment, PlusPlusToken, MinusMinusToken } = ts.SyntaxKind;
  if (ts.isCallExpression(node) && ts.isPropertyAccessExpression(node.expression))
    return WRITING_CALLS.test(node.expression.getText()) ? node.arguments.slice(0, 1) : [];
  if (ts.isBinaryExpression(node))
    return node.operatorToken.kind >= FirstAssignment && node.operatorToken.kind <= LastAssignment
      ? targetsIn(node.left)
      : [];
  if (ts.isDeleteExpression(node)) return targetsIn(node.expression);
  if (ts.isForOfStatement(node) || ts.isForInStatement(node))
    return ts.isVariableDeclarationList(node.initializer) ? [] : targetsIn(node.initializer);
  const isStep =
    (ts.isPrefixUnaryExpression(node) || ts.isPostfixUnaryExpression(node)) &&
    [PlusPlusToken, MinusMinusToken].includes(node.operator);
  return isStep ? targetsIn(node.operand) : [];
}

/** The fields on the left of an assignment, also of one that takes apart what is on the right. */
function targetsIn(left: ts.Node): ts.Expression[] {
  if (isAccess(left)) return [left];
  if (ts.isArrayLiteralExpression(left)) return left.elements.flatMap(targetsIn);
  if (ts.isObjectLiteralExpression(left))
    return left.properties.flatMap((one) => (ts.isPropertyAssignment(one) ? targetsIn(one.initializer) : []));
  if (ts.isParenthesizedExpression(left) || ts.isSpreadElement(left)) return targetsIn(left.expression);
  // One with a default, `{ a: b.c = 1 }`, is an assignment by itself.
  return [];
}

it('has nobody write into the fields of an object that is not its own', { timeout: 120_000 }, () => {
  const sample = new Map([
    [join(ROOT, 'gateway/sample-a.ts'), 'export class Gauge { blocked = false; count = 0; }'],
    [
      join(ROOT, 'gateway/sample-b.ts'),
      "import { Gauge } from './sample-a.ts';\nexport const block = (gauge: Gauge): void => {\n  " +
        'gauge.blocked = true;\n  gauge.count += 1;\n  gauge.count++;\n  ' +
        "gauge['count'] = 1;\n  Object.assign(gauge, { count: 1 });\n  [gauge.count] = [1];\n  " +
        '({ a: gauge.count = 2 } = { a: 1 });\n  for (gauge.count of [1]);\n};',
    ],
  ]);
  expect(foreignWrites([], sample)).toEqual([
    'gateway/sample-b.ts:3 gauge.blocked',
    'gateway/sample-b.ts:4 gauge.count',
    'gateway/sample-b.ts:5 gauge.count',
    "gateway/sample-b.ts:6 gauge['count']",
    'gateway/sample-b.ts:7 gauge',
    'gateway/sample-b.ts:8 gauge.count',
    'gateway/sample-b.ts:9 gauge.count',
    'gateway/sample-b.ts:10 gauge.count',
  ]);
  const gateway = sourceFiles().filter(({ path }) => path.startsWith('gateway/') && path.endsWith('.ts'));
  expect(gateway.length).toBeGreaterThan(100);
  expect(foreignWrites(gateway.map(({ path }) => join(ROOT, path)))).toEqual([]);
});
