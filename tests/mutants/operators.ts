/**
 * Single bugs that a hand could slip into a source file: each is one place and what stands there instead.
 *
 * In: a path and its text. Out: mutants in the order of the file. Operators after the usual set of mutation testing
 * (arithmetic, relational, logical, constant, statement deletion; Offutt and others, 'An experimental determination of
 * sufficient mutant operators', ACM TOSEM 5(2), 1996), and one of our own that drops the first clause of a sentence.
 * Limit: text of types, imports and messages of thrown errors is left alone.
 */
import { createHash } from 'node:crypto';
import ts from 'typescript';

export interface Mutant {
  /** Follows from its own line, so it stays the same when the line moves, also to another file. */
  readonly id: string;
  readonly path: string;
  readonly line: number;
  readonly operator: string;
  readonly from: number;
  readonly to: number;
  readonly before: string;
  readonly after: string;
}

const SWAPS = new Map<ts.SyntaxKind, string>([
  [ts.SyntaxKind.LessThanToken, '>='],
  [ts.SyntaxKind.LessThanEqualsToken, '>'],
  [ts.SyntaxKind.GreaterThanToken, '<='],
  [ts.SyntaxKind.GreaterThanEqualsToken, '<'],
  [ts.SyntaxKind.EqualsEqualsEqualsToken, '!=='],
  [ts.SyntaxKind.ExclamationEqualsEqualsToken, '==='],
  [ts.SyntaxKind.PlusToken, '-'],
  [ts.SyntaxKind.MinusToken, '+'],
  [ts.SyntaxKind.AsteriskToken, '/'],
  [ts.SyntaxKind.SlashToken, '*'],
  [ts.SyntaxKind.AmpersandAmpersandToken, '||'],
  [ts.SyntaxKind.BarBarToken, '&&'],
]);
const CALLS: Readonly<Record<string, string>> = {
  'Math.max': 'Math.min',
  'Math.min': 'Math.max',
  'Math.floor': 'Math.ceil',
  'Math.ceil': 'Math.floor',
};
/** A shorter text is a name and not a sentence. */
const SENTENCE_WORDS = 5;

interface Bug {
  readonly operator: string;
  readonly from: number;
  readonly to: number;
  readonly after: string;
}

/** `seen` counts what equal lines have had before, also in files before this one. */
export function mutantsOf(path: string, text: string, seen = new Map<string, number>()): Mutant[] {
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.ES2023, true);
  const bugs: Bug[] = [];
  const visit = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node) || ts.isTypeNode(node) || ts.isThrowStatement(node)) return;
    bugs.push(...bugsOf(node, source));
    ts.forEachChild(node, visit);
  };
  visit(source);
  return bugs
    .sort((a, b) => a.from - b.from || a.to - b.to)
    .map((bug) => {
      const { line } = source.getLineAndCharacterOfPosition(bug.from);
      const words = text.split('\n')[line]!.trim();
      const before = text.slice(bug.from, bug.to);
      const what = `${words}\n${bug.operator}\n${before}`;
      const nth = seen.get(what) ?? 0;
      seen.set(what, nth + 1);
      const id = createHash('sha256').update(`${what}\n${nth}`).digest('hex').slice(0, 10);
      return { id, path, line: line + 1, before, ...bug };
    });
}

export function withMutant(text: string, { from, to, after }: Mutant): string {
  return text.slice(0, from) + after + text.slice(to);
}

function bugsOf(node: ts.Node, source: ts.SourceFile): Bug[] {
  const over = (what: ts.Node, operator: string, after: string): Bug => ({
    operator,
    from: what.getStart(source),
    to: what.getEnd(),
    after,
  });
  if (ts.isBinaryExpression(node)) {
    const after = SWAPS.get(node.operatorToken.kind);
    const joinsText = node.operatorToken.kind === ts.SyntaxKind.PlusToken && /['"`]/.test(node.getText(source));
    return after && !joinsText ? [over(node.operatorToken, 'operator', after)] : [];
  }
  if (ts.isPrefixUnaryExpression(node) && node.operator === ts.SyntaxKind.ExclamationToken)
    return [over(node, 'not', node.operand.getText(source))];
  if (ts.isNumericLiteral(node)) return [over(node, 'number', otherNumber(Number(node.text.replaceAll('_', ''))))];
  if (ts.isConditionalExpression(node)) {
    const [yes, no] = [node.whenTrue.getText(source), node.whenFalse.getText(source)];
    return [
      {
        operator: 'branches',
        from: node.whenTrue.getStart(source),
        to: node.getEnd(),
        after: `${no} : ${yes}`,
      },
    ];
  }
  if (ts.isCallExpression(node)) {
    const after = CALLS[node.expression.getText(source)];
    return after ? [over(node.expression, 'call', after)] : [];
  }
  if (ts.isExpressionStatement(node) && ts.isCallExpression(node.expression)) return [over(node, 'statement', ';')];
  if (ts.isStringLiteral(node) || ts.isNoSubstitutionTemplateLiteral(node)) return sentenceBug(node, source);
  return [];
}

/** What a slip of a digit does to a threshold or a factor. */
function otherNumber(value: number): string {
  if (value === 0) return '1';
  if (value === 1) return '2';
  return Number.isInteger(value) && value < 4 ? String(value - 1) : String(value * 1.25);
}

/** The first clause, or where there is one only its last word, is gone. */
function sentenceBug(node: ts.StringLiteral | ts.NoSubstitutionTemplateLiteral, source: ts.SourceFile): Bug[] {
  const { text } = node;
  if (text.split(' ').length < SENTENCE_WORDS) return [];
  const clause = /^.{4,}?[.,:;] +(?=\S)/.exec(text)?.[0];
  const after = clause === undefined ? text.replace(/ \S+\s*$/, '') : text.slice(clause.length);
  return [{ operator: 'words', from: node.getStart(source), to: node.getEnd(), after: JSON.stringify(after) }];
}
