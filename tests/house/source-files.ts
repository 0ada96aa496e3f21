/** The project's own files, as the house rules look at them: path from the root, text, and what they import. */
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';

export const ROOT = resolve(import.meta.dirname, '../..');

export interface SourceFile {
  readonly path: string;
  readonly text: string;
  /** Without comments and the insides of strings, so that words in sentences are not taken for code. */
  readonly code: string;
  /** Relative imports as paths from the root, packages by name. */
  readonly imports: readonly string[];
  /** Those of them that are there at run time. */
  readonly valueImports: readonly string[];
}

const FOLDERS = ['config', 'gateway', 'simulator', 'ui', 'tests'];
const KINDS = /\.(ts|mjs|svelte)$/;

export function sourceFiles(): SourceFile[] {
  return FOLDERS.flatMap((folder) =>
    readdirSync(join(ROOT, folder), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && KINDS.test(entry.name))
      .map((entry) => relative(ROOT, join(entry.parentPath, entry.name)))
      .filter((path) => !path.startsWith('tests/artifacts/'))
      .map(readSource),
  );
}

function readSource(path: string): SourceFile {
  return sourceFile(path, readFileSync(join(ROOT, path), 'utf8'));
}

export function sourceFile(path: string, text: string): SourceFile {
  const lasting = text.replaceAll(/^\s*(?:import|export) type [^;]*;/gm, '');
  return { path, text, code: codeOf(text), imports: importsOf(path, text), valueImports: importsOf(path, lasting) };
}

export function importsOf(path: string, text: string): string[] {
  const uncommented = text.replaceAll(/\/\*[\s\S]*?\*\//g, '').replaceAll(/^\s*\/\/.*$/gm, '');
  const found = [
    ...uncommented.matchAll(
      /(?:^|[;\s])(?:import|export)\s[^'"`;]*?from\s*['"]([^'"]+)['"]|import\s*\(?\s*['"]([^'"]+)['"]/g,
    ),
  ];
  return found.map((match) => {
    const name = match[1] ?? match[2] ?? '';
    if (name.startsWith('.')) return relative(ROOT, resolve(ROOT, dirname(path), name));
    return name.startsWith('node:')
      ? name
      : name
          .split('/')
          .slice(0, name.startsWith('@') ? 2 : 1)
          .join('/');
  });
}

/** Good enough for a linter of words: templates keep what stands in their ${...}. */
export function codeOf(text: string): string {
  const token =
    /\/\*[\s\S]*?\*\/|\/\/[^\n]*|'(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*"|\/(?![/*\s])(?:[^/\\\n[]|\\.|\[(?:[^\]\\\n]|\\.)*\])+\/[dgimsuvy]*(?=[\s.,;)\]])/g;
  return text.replaceAll(token, (found) => (found.startsWith('/') ? found.replaceAll(/[^\n]/g, ' ') : "''"));
}
