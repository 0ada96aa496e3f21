/** Before the tests of this folder: the screen is built as it ships, once for all of them. */
import { spawnSync } from 'node:child_process';
import { resolve } from 'node:path';

const MAKE_READY = "import('./gateway/launch/ready.mjs').then(({ ready }) => ready())";

export function setup(): void {
  const cwd = resolve(import.meta.dirname, '../..');
  const { status } = spawnSync(process.execPath, ['-e', MAKE_READY], { cwd, stdio: 'inherit' });
  if (status !== 0) throw new Error('the screen could not be built');
}
