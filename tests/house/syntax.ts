/** What a file says, read from TypeScript's syntax tree: its nodes, what it imports, which names it uses as values. */
import { isBuiltin } from 'node:module';
import { dirname, join } from 'node:path';
import { parse } from 'svelte/compiler';
import ts from 'typescript';

export interface Import {
  /** A path from the root, a package, `node:NAME`, or, where it is computed, the code that computes it. */
  readonly name: string;
  readonly typeOnly: boolean;
}

/** Trees of a component: its scripts, and each expression of its markup. */
export function treesOf(path: string, text: string): ts.SourceFile[] {
  const parts = path.endsWith('.svelte')
    ? [...[...text.matchAll(/<script[^>]*>([\s\S]*?)<\/script>/g)].map((script) => script[1]!), ...inMarkup(text)]
    : [text];
  return parts.map((part) => ts.createSourceFile(path, part, ts.ScriptTarget.ESNext, true));
}

/** The outermost expressions between braces: of all that the parser of the markup hands out, only they have a `loc`. */
function inMarkup(text: string): string[] {
  const found: string[] = [];
  const visit = (value: unknown): void => {
    if (Array.isArray(value)) value.forEach(visit);
    if (typeof value !== 'object' || value === null || Array.isArray(value)) return;
    const { start, end } = value as { readonly start?: number; readonly end?: number };
    if ('loc' in value && start !== undefined && end !== undefined) found.push(text.slice(start, end));
    else Object.values(value).forEach(visit);
  };
  visit(parse(text, { modern: true }).fragment);
  return found;
}

/** Every node of the trees; what is inside a node that `enters` refuses is left out. */
export function* nodesOf(
  trees: readonly ts.SourceFile[],
  enters: (node: ts.Node) => boolean = () => true,
): Generator<ts.Node> {
  const open: ts.Node[] = [...trees];
  for (let node = open.pop(); node; node = open.pop()) {
    yield node;
    node.forEachChild((child) => void (enters(child) && open.push(child)));
  }
}

export function importsOf(path: string, trees: readonly ts.SourceFile[]): Import[] {
  const found: Import[] = [];
  for (const node of nodesOf(trees)) {
    const [from, typeOnly] = importedBy(node);
    if (from) found.push({ name: named(path, from), typeOnly });
  }
  return found.toReversed();
}

/** What is imported by this node, if it imports: `new URL(…)` of code beside it is an import by another way. */
function importedBy(node: ts.Node): readonly [from: ts.Node | undefined, typeOnly: boolean] {
  if (ts.isImportDeclaration(node))
    return [node.moduleSpecifier, node.importClause?.phaseModifier === ts.SyntaxKind.TypeKeyword];
  if (ts.isExportDeclaration(node)) return [node.moduleSpecifier, node.isTypeOnly];
  if (ts.isExternalModuleReference(node)) return [node.expression, false];
  if (ts.isImportTypeNode(node)) return [ts.isLiteralTypeNode(node.argument) ? node.argument.literal : node, true];
  if (ts.isCallExpression(node) && imports(node.expression)) return [node.arguments[0] ?? node, false];
  if (ts.isNewExpression(node) && node.arguments?.[1]?.getText() === 'import.meta.url') {
    const [from] = node.arguments;
    if (from && !(ts.isStringLiteralLike(from) && !/\.(ts|mjs|svelte|js)$/.test(from.text))) return [from, false];
  }
  return [undefined, false];
}

const isNamed = (node: ts.Node, name: string): boolean => ts.isIdentifier(node) && node.text === name;

/** `import`, `require`, `import.meta.resolve`. */
function imports(called: ts.Expression): boolean {
  if (called.kind === ts.SyntaxKind.ImportKeyword || isNamed(called, 'require')) return true;
  return (
    ts.isPropertyAccessExpression(called) && ts.isMetaProperty(called.expression) && called.name.text === 'resolve'
  );
}

function named(path: string, from: ts.Node): string {
  if (!ts.isStringLiteralLike(from)) return from.getText();
  const name = from.text;
  if (name.startsWith('.')) return join(dirname(path), name);
  const parts = name.split('/');
  if (isBuiltin(name)) return `node:${parts[0]!.replace('node:', '')}`;
  return parts.slice(0, name.startsWith('@') ? 2 : 1).join('/');
}

/** Those of the names that the file uses as values, each once: variables, members, keys; renamed or in brackets too. */
export function namesUsed(trees: readonly ts.SourceFile[], names: readonly string[]): string[] {
  const wanted = new Set(names);
  const found = new Set<string>();
  for (const node of nodesOf(trees, isValue)) {
    if (!ts.isIdentifier(node) && !(ts.isStringLiteralLike(node) && isKey(node))) continue;
    if (wanted.has(node.text) && !isHarmless(node)) found.add(node.text);
  }
  return names.filter((name) => found.has(name));
}

function isValue(node: ts.Node): boolean {
  if (ts.isExpressionWithTypeArguments(node)) return true;
  const isTypeImport = ts.isImportClause(node) && node.phaseModifier === ts.SyntaxKind.TypeKeyword;
  return !ts.isTypeNode(node) && !ts.isInterfaceDeclaration(node) && !ts.isTypeAliasDeclaration(node) && !isTypeImport;
}

const isKey = ({ parent }: ts.Node): boolean =>
  ts.isElementAccessExpression(parent) ||
  ts.isComputedPropertyName(parent) ||
  ts.isImportSpecifier(parent) ||
  ts.isPropertyAssignment(parent) ||
  ts.isBindingElement(parent);

/** Date made of something that is given, or read from text; Math but for its dice. */
function isHarmless(name: ts.Identifier | ts.StringLiteralLike): boolean {
  const isMember = ts.isPropertyAccessExpression(name.parent) && name.parent.name === name;
  const node = isMember || ts.isElementAccessExpression(name.parent) ? name.parent : name;
  const { parent } = node;
  const member = ts.isPropertyAccessExpression(parent) && parent.expression === node ? parent.name.text : null;
  if (name.text === 'Math') return member !== null && member !== 'random';
  if (name.text !== 'Date') return false;
  if (member !== null) return ['UTC', 'parse'].includes(member);
  if (ts.isBinaryExpression(parent)) return parent.operatorToken.kind === ts.SyntaxKind.InstanceOfKeyword;
  const given = ts.isNewExpression(parent) && parent.expression === node ? parent.arguments?.[0] : undefined;
  return given !== undefined && !ts.isSpreadElement(given);
}

/** What a file takes out of an object of this name: by a dot, in brackets, or by taking it apart. */
export function takenFrom(trees: readonly ts.SourceFile[], object: string): string[] {
  const found: string[] = [];
  for (const node of nodesOf(trees)) {
    if (ts.isPropertyAccessExpression(node) && isNamed(node.expression, object)) found.push(node.name.text);
    if (ts.isElementAccessExpression(node) && isNamed(node.expression, object))
      found.push(ts.isStringLiteralLike(node.argumentExpression) ? node.argumentExpression.text : '?');
    if (ts.isVariableDeclaration(node) && ts.isObjectBindingPattern(node.name))
      if (node.initializer && isNamed(node.initializer, object))
        found.push(...node.name.elements.map(({ propertyName, name }) => (propertyName ?? name).getText()));
  }
  return found;
}
