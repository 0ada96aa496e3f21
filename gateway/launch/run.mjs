/**
 * `node gateway/launch/run.mjs FILE arguments`: installs what is missing and runs another entry, such as the simulator.
 */
import { runEntry } from './child.mjs';
import { ready } from './ready.mjs';

const [entry, ...args] = process.argv.slice(2);
if (entry === undefined) {
  console.error('Say which file to run.');
  process.exit(2);
}
ready(false);
runEntry(entry, args);
