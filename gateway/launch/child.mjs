/**
 * Runs one TypeScript entry of the house as a child process and lives as long as it does: arguments, signals, exit
 * code.
 *
 * A Ctrl-C in a terminal reaches the child by itself; a signal sent to this process alone is passed on. The child sees
 * this process go (the channel between them closes) and ends too.
 */
import { spawn } from 'node:child_process';
import { ROOT } from './ready.mjs';

export function runEntry(entry, args) {
  const child = spawn(process.execPath, ['--import', 'tsx', entry, ...args], {
    cwd: ROOT,
    stdio: ['inherit', 'inherit', 'inherit', 'ipc'],
  });
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => child.kill(signal));
  process.on('disconnect', () => child.kill('SIGTERM'));
  child.once('error', (error) => {
    console.error(`Cannot start ${entry}: ${error.message}`);
    process.exit(2);
  });
  child.once('exit', (code, signal) => process.exit(code ?? (signal === 'SIGINT' ? 0 : 1)));
}
