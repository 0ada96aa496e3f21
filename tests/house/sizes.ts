/** How long files and functions are, and how many fields a class has, by TypeScript's own reading of the text. */
import ts from 'typescript';
import type { SourceFile } from './source-files.ts';
import { nodesOf } from './syntax.ts';

export interface Sized {
  /** `FILE`, or `FILE NAME` of a function or class. */
  readonly what: string;
  readonly size: number;
}

export function fileLines({ path, text }: SourceFile): Sized {
  return { what: path, size: text.split('\n').length - (text.endsWith('\n') ? 1 : 0) };
}

/** Columns of its widest line; the formatter breaks no text, so that a sentence may be wider than it allows. */
export function widestLine({ path, text }: SourceFile): Sized {
  return { what: path, size: Math.max(...text.split('\n').map((line) => line.length)) };
}

/** Lines from the first to the last of it; functions inside count with the one around them. */
export function functionLines(file: SourceFile): Sized[] {
  const found: Sized[] = [];
  for (const node of nodesOf(file.trees)) {
    if (!ts.isFunctionLike(node) || !('body' in node) || !node.body) continue;
    const tree = node.getSourceFile();
    const line = (at: number): number => tree.getLineAndCharacterOfPosition(at).line;
    found.push({ what: `${file.path} ${nameOf(node)}`, size: line(node.end) - line(node.getStart(tree)) + 1 });
  }
  return found;
}

/** Fields that are declared, parameters of the constructor that become fields included. */
export function classFields(file: SourceFile): Sized[] {
  const found: Sized[] = [];
  for (const node of nodesOf(file.trees)) {
    if (!ts.isClassLike(node)) continue;
    const own = node.members.filter((member) => ts.isPropertyDeclaration(member));
    const made = node.members
      .filter((member) => ts.isConstructorDeclaration(member))
      .flatMap(({ parameters }) => parameters.filter((one) => ts.isParameterPropertyDeclaration(one, one.parent)));
    found.push({ what: `${file.path} ${node.name?.text ?? 'class'}`, size: own.length + made.length });
  }
  return found;
}

/** What is longer than the limit and than its own exception. Each as `WHAT: SIZE`. */
export function tooLarge(
  sized: readonly Sized[],
  limit: number,
  exceptions: Readonly<Record<string, number>>,
): string[] {
  return sized
    .filter(({ what, size }) => size > (exceptions[what] ?? limit))
    .map(({ what, size }) => `${what}: ${size}`);
}

/** Exceptions that are needed no more: nothing of that name is over the limit. */
export function outgrown(
  sized: readonly Sized[],
  limit: number,
  exceptions: Readonly<Record<string, number>>,
): string[] {
  return Object.keys(exceptions).filter((name) => !sized.some(({ what, size }) => what === name && size > limit));
}

function nameOf(node: ts.SignatureDeclaration): string {
  if (ts.isConstructorDeclaration(node)) return `${node.parent.name?.text ?? 'class'}.constructor`;
  if (node.name) return node.name.getText();
  const { parent } = node;
  return ts.isVariableDeclaration(parent) || ts.isPropertyAssignment(parent) || ts.isPropertyDeclaration(parent)
    ? parent.name.getText()
    : 'a function without a name';
}
