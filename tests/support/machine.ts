/**
 * What this machine has, for tests that need a program which npm cannot install.
 *
 * A test that cannot run says so and is counted as skipped; tests/run.mjs makes that a failure in CI.
 */
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';

export function findProgram(...names: readonly string[]): string | null {
  const folders = [
    ...(process.env['PATH'] ?? '').split(delimiter),
    '/usr/bin',
    '/usr/sbin',
    '/usr/local/bin',
    '/usr/local/sbin',
  ];
  for (const name of names) for (const folder of folders) if (existsSync(join(folder, name))) return join(folder, name);
  return null;
}

/** For `describe.skipIf`: true when one is missing, with a line that nobody overlooks. Of a list any one will do. */
export function missing(...programs: readonly (string | readonly string[])[]): boolean {
  const absent = programs
    .filter((program) => findProgram(...[program].flat()) === null)
    .map((program) => [program].flat().join(' or '));
  if (absent.length > 0) process.stderr.write(`SKIPPED: this machine has no ${absent.join(' and no ')}\n`);
  return absent.length > 0;
}
