/**
 * Starts the demonstration's simulator as a process of its own, so that it reaches the gateway only over the broker.
 *
 * In: site file, broker, what it should play. Out: a handle to stop it. Its errors go to the gateway's terminal; when it
 * ends by itself the gateway says so and goes on, and its readings get stale as a real site's would.
 */
import { spawn } from 'node:child_process';

export interface SimulatorChild {
  readonly stop: () => Promise<void>;
}

const STOP_PATIENCE_MS = 3_000;

export function startSimulator(args: readonly string[], say: (words: string) => void): SimulatorChild {
  const child = spawn(process.execPath, ['--import', 'tsx', 'simulator/main.ts', ...args], { stdio: ['ignore', 'ignore', 'inherit', 'ipc'] });
  let stopping = false;
  const ended = new Promise<void>((done) => {
    child.once('error', (error) => {
      say(`The simulator cannot be started: ${error.message}`);
      done();
    });
    child.once('exit', (code, signal) => {
      if (!stopping) say(`The simulator has ended (${signal ?? `exit code ${code}`}). Its readings will get stale.`);
      done();
    });
  });
  return {
    stop: async () => {
      stopping = true;
      child.kill('SIGTERM');
      const patience = setTimeout(() => child.kill('SIGKILL'), STOP_PATIENCE_MS);
      await ended;
      clearTimeout(patience);
    },
  };
}
