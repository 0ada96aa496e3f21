/**
 * Which mutants are played: a fixed list over the rooms, or all on lines that changed.
 *
 * The list follows from the product's text alone: in each room the mutants of lowest id, which are as good as drawn at
 * random and stay the same while their lines do, wherever those stand.
 */
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { mutantsOf, type Mutant } from './operators.ts';
import { ROOMS, roomOf } from './rooms.ts';

export interface Product {
  readonly path: string;
  readonly text: string;
}

export function productFiles(root: string): Product[] {
  return execFileSync('git', ['ls-files', '--cached', '--others', '--exclude-standard'], {
    cwd: root,
    encoding: 'utf8',
  })
    .split('\n')
    .filter((path) => path.endsWith('.ts') && roomOf(path) !== null)
    .map((path) => ({ path, text: readFileSync(join(root, path), 'utf8') }));
}

/** By path, the numbers of lines that are new or other since `ref`. */
export function changedLines(root: string, ref: string): ReadonlyMap<string, ReadonlySet<number>> {
  const out = new Map<string, Set<number>>();
  let path = '';
  for (const line of execFileSync('git', ['diff', '-U0', ref], { cwd: root, encoding: 'utf8', maxBuffer: 1e9 }).split(
    '\n',
  )) {
    if (line.startsWith('+++ b/')) path = line.slice(6);
    const [, from, count] = /^@@ \S+ \+(\d+)(?:,(\d+))? @@/.exec(line) ?? [];
    if (from === undefined) continue;
    const lines = out.get(path) ?? new Set();
    for (let at = 0; at < Number(count ?? 1); at += 1) lines.add(Number(from) + at);
    out.set(path, lines);
  }
  return out;
}

export function chosen(files: readonly Product[], changed: ReadonlyMap<string, ReadonlySet<number>> | null): Mutant[] {
  const seen = new Map<string, number>();
  const all = files.flatMap(({ path, text }) => mutantsOf(path, text, seen)).sort((a, b) => (a.id < b.id ? -1 : 1));
  if (changed) return all.filter(({ path, line }) => changed.get(path)?.has(line));
  return ROOMS.flatMap((room) => all.filter(({ path }) => roomOf(path) === room).slice(0, room.share));
}
