/**
 * Opens the YAML of a layout file, so that every part of it can be traced to its line.
 *
 * In: the file's text. Out: its top node and what is needed to point into it, or null with the faults in the book.
 * `&name` and `*name` are followed, each mark once: a kit described at one head can serve its neighbours.
 * Limit: after an error of syntax nothing is read, because what follows may have slipped into another place.
 */
import { isAlias, isNode, LineCounter, parseDocument, visit, type Document, type Node } from 'yaml';
import type { FaultBook } from './layout-fault.ts';
import type { OpenFile } from './layout-section.ts';

export interface OpenYaml {
  readonly file: OpenFile;
  /** Null: nothing but comments. */
  readonly top: Node | null;
}

export function openYaml(text: string, book: FaultBook): OpenYaml | null {
  const lines = new LineCounter();
  try {
    // Names written twice are left to Section, which knows their path.
    const options = { lineCounter: lines, prettyErrors: false, logLevel: 'error', uniqueKeys: false } as const;
    const document = parseDocument(text, options);
    for (const error of document.errors) {
      const remedy = "check the indentation (spaces, no tabs), the brackets and the blank after ':' near this line";
      const second = error.code === 'MULTIPLE_DOCS';
      const problem = second ? "'---' begins a second document, and a layout is one" : error.message;
      book.addAt(
        lines.linePos(error.pos[0]).line,
        'layout/not-yaml',
        '',
        problem,
        second ? "remove the '---'" : remedy,
      );
    }
    if (document.errors.length > 0) return null;
    return { file: { anchors: readAnchors(document, lines, book), lines, book }, top: document.contents };
  } catch (error) {
    // The YAML reader recurses: thousands of nested brackets exhaust the stack.
    const why = error instanceof Error ? error.message : String(error);
    book.add('layout/not-yaml', '', `the file cannot be read as YAML: ${why}`, 'is this the right file?');
    return null;
  }
}

function readAnchors(document: Document, lines: LineCounter, book: FaultBook): ReadonlyMap<string, Node> {
  const anchors = new Map<string, Node>();
  visit(document, (_, node) => {
    if (!isNode(node) || isAlias(node) || node.anchor === undefined) return;
    if (anchors.has(node.anchor)) {
      const { line } = lines.linePos(node.range?.[0] ?? 0);
      const problem = `'&${node.anchor}' marks two things`;
      book.addAt(line, 'layout/duplicate-name', '', problem, 'give one of the two another mark');
    }
    anchors.set(node.anchor, node);
  });
  return anchors;
}
