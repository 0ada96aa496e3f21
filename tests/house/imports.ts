/** Who imports whom: rooms and what each may see, arrows that go uphill, circles, who has which library or built-in. */
import type { SourceFile } from './source-files.ts';

/** Rooms are named by their folder; a path belongs to the innermost. */
export type Rooms = Readonly<Record<string, readonly string[]>>;

const within = (path: string, folder: string): boolean => path === folder || path.startsWith(`${folder}/`);

export function roomOf(path: string, rooms: Rooms): string | null {
  const around = Object.keys(rooms).filter((room) => path.startsWith(`${room}/`));
  return around.sort((a, b) => b.length - a.length)[0] ?? null;
}

/** `FILE -> FILE` of every import that its room does not allow; a room may see itself. Type imports count. */
export function uphill(files: readonly SourceFile[], rooms: Rooms): string[] {
  const own = new Set(files.map(({ path }) => path));
  return files.flatMap((file) => {
    const room = roomOf(file.path, rooms);
    if (room === null) return [];
    return file.imports
      .filter((name) => own.has(name) || /^(config|gateway|simulator|ui|tests)\//.test(name))
      .filter((name) => roomOf(name, rooms) !== room && !rooms[room]!.some((seen) => within(name, seen)))
      .map((name) => `${file.path} -> ${name}`);
  });
}

/**
 * The files of every circle, a list each, in order of their names: sets of files each of which reaches every other by
 * imports, type imports included (Tarjan, SIAM J. Comput. 1 (1972) 146, from memory).
 */
export function circles(files: readonly SourceFile[]): string[][] {
  const byPath = new Map(files.map((file) => [file.path, file]));
  const index = new Map<string, number>();
  const lowest = new Map<string, number>();
  const open: string[] = [];
  const found: string[][] = [];
  const visit = (path: string): void => {
    index.set(path, index.size);
    lowest.set(path, index.get(path)!);
    open.push(path);
    for (const next of byPath.get(path)!.imports.filter((name) => byPath.has(name))) {
      if (!index.has(next)) visit(next);
      if (open.includes(next)) lowest.set(path, Math.min(lowest.get(path)!, lowest.get(next)!));
    }
    if (lowest.get(path) !== index.get(path)) return;
    const circle = open.splice(open.indexOf(path));
    if (circle.length > 1 || byPath.get(path)!.imports.includes(path)) found.push(circle.sort());
  };
  for (const path of byPath.keys()) if (!index.has(path)) visit(path);
  return found;
}

/** `FILE has NAME` of every import of a package or built-in outside the folders that may have it. */
export function strayImports(
  files: readonly SourceFile[],
  importers: Readonly<Record<string, readonly string[]>>,
): string[] {
  return files.flatMap((file) =>
    file.imports
      .filter((name) => importers[name]?.some((folder) => within(file.path, folder)) === false)
      .map((name) => `${file.path} has ${name}`),
  );
}

/** The files that `start` brings along at run time: what is imported for its types only stays behind. */
export function broughtAlong(files: readonly SourceFile[], start: string): SourceFile[] {
  const byPath = new Map(files.map((file) => [file.path, file]));
  const seen = new Set<string>([start]);
  for (const path of seen)
    for (const name of byPath.get(path)?.valueImports ?? []) if (byPath.has(name)) seen.add(name);
  return [...seen].flatMap((path) => byPath.get(path) ?? []);
}
