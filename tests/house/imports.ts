/** Who imports whom: rooms and what each may see, arrows that go uphill, circles, who has which library or built-in. */
import type { SourceFile } from './source-files.ts';

/** Rooms are named by their folder; a path belongs to the innermost. */
export type Rooms = Readonly<Record<string, readonly string[]>>;

const OURS = /^(?:config|gateway|simulator|ui|tests)\/[\w./-]+$/;

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
      .filter((name) => own.has(name) || OURS.test(name))
      .filter((name) => roomOf(name, rooms) !== room && !rooms[room]!.some((seen) => within(name, seen)))
      .map((name) => `${file.path} -> ${name}`);
  });
}

/**
 * Circles, type imports included, each as the files in the order in which they import each other: the shortest ones
 * that share no file. What a bad import closes into one circle of dozens of files shows as the few that matter.
 */
export function circles(files: readonly SourceFile[]): string[][] {
  const own = new Set(files.map(({ path }) => path));
  const next = new Map(files.map(({ path, imports }) => [path, imports.filter((name) => own.has(name))]));
  const found = [...own].flatMap((path) => {
    const circle = shortestBack(path, next);
    return circle ? [circle] : [];
  });
  const taken = new Set<string>();
  return found
    .sort((a, b) => a.length - b.length)
    .filter((circle) => {
      const isNew = !circle.some((path) => taken.has(path));
      if (isNew) for (const path of circle) taken.add(path);
      return isNew;
    });
}

/** The shortest way along imports from a file back to itself, or null. */
function shortestBack(start: string, next: ReadonlyMap<string, readonly string[]>): string[] | null {
  const cameFrom = new Map<string, string | null>([[start, null]]);
  for (const path of cameFrom.keys())
    for (const name of next.get(path)!) {
      if (name === start) {
        const way: string[] = [];
        for (let at: string | null = path; at !== null; at = cameFrom.get(at) ?? null) way.unshift(at);
        return way;
      }
      if (!cameFrom.has(name)) cameFrom.set(name, path);
    }
  return null;
}

/**
 * `FILE has NAME` of every import that is no file of ours, such as a package, a built-in or a name that is computed,
 * outside the folders that may have it. What is not listed nobody may have.
 */
export function strayImports(
  files: readonly SourceFile[],
  importers: Readonly<Record<string, readonly string[]>>,
): string[] {
  return files.flatMap((file) =>
    file.imports
      .filter((name) => !OURS.test(name) && !importers[name]?.some((folder) => within(file.path, folder)))
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
