/** The project's own files, as the house rules look at them: path from the root, text, and what they import. */
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import type ts from 'typescript';
import { type Import, importsOf, treesOf } from './syntax.ts';

export const ROOT = resolve(import.meta.dirname, '../..');

/** Is read only when it is asked for, and then once: to parse all files takes seconds. */
export class SourceFile {
  #trees: readonly ts.SourceFile[] | null = null;
  #imports: readonly Import[] | null = null;

  constructor(
    readonly path: string,
    readonly text: string,
  ) {}

  get trees(): readonly ts.SourceFile[] {
    return (this.#trees ??= treesOf(this.path, this.text));
  }

  get #importing(): readonly Import[] {
    return (this.#imports ??= importsOf(this.path, this.trees));
  }

  /** Relative imports as paths from the root, packages by name, built-ins as `node:NAME`. */
  get imports(): readonly string[] {
    return this.#importing.map(({ name }) => name);
  }

  /** Those of them that are there at run time. */
  get valueImports(): readonly string[] {
    return this.#importing.filter(({ typeOnly }) => !typeOnly).map(({ name }) => name);
  }
}

const FOLDERS = ['config', 'gateway', 'simulator', 'ui', 'tests'];
const KINDS = /\.(ts|mjs|svelte)$/;

export function sourceFiles(): SourceFile[] {
  return FOLDERS.flatMap((folder) =>
    readdirSync(join(ROOT, folder), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && KINDS.test(entry.name))
      .map((entry) => relative(ROOT, join(entry.parentPath, entry.name)))
      .filter((path) => !path.startsWith('tests/artifacts/'))
      .map((path) => new SourceFile(path, readFileSync(join(ROOT, path), 'utf8'))),
  );
}
