/**
 * What the file of a run is called: the site, and the second in which it began by the wall's clock.
 *
 * In: folder, site, time (ms since 1970 UTC). Out: a name that nobody has yet, and its path. A clock that begins at the
 * same second again and again, as one without a battery does, gets a number behind it.
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';

export function nameRun(folder: string, site: string, wallMs: number): string {
  const stamp = new Date(wallMs).toISOString().replaceAll(/[-:]|\.\d+/g, '');
  const base = `${site}-${stamp}`;
  let name = base;
  for (let next = 2; existsSync(pathOf(folder, name)) || existsSync(join(folder, `${name}.lock`)); next += 1)
    name = `${base}-${next}`;
  return name;
}

export function pathOf(folder: string, run: string): string {
  return join(folder, `${run}.sqlite`);
}
