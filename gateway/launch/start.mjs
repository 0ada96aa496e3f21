/** `npm start`: makes the working copy ready and runs the gateway with all arguments. */
import { runEntry } from './child.mjs';
import { ready } from './ready.mjs';

ready();
runEntry('gateway/main.ts', process.argv.slice(2));
