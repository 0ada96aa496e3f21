/**
 * Starts the demonstration's simulator as a process of its own, so that it reaches the gateway only over the broker.
 *
 * In: site file, broker, what it should play. Out: a handle to stop it. Its errors go to the gateway's terminal; when
 * it ends by itself the gateway says so and goes on, and its readings get stale as a real site's would.
 */
import { spawn } from 'node:child_process';

export interface SimulatorChild {
  readonly stop: () => Promise<void>;
}

const STOP_PATIENCE_MS = 3_000;

/** The broker's address goes by the environment: it may hold a password, and others can see a command line. */
export function startSimulator(
  args: readonly string[],
  broker: string,
  ca: string | null,
  say: (words: string) => void,
): SimulatorChild {
  const env = { ...process.env, WETDOWN_BROKER: broker, ...(ca === null ? {} : { NODE_EXTRA_CA_CERTS: ca }) };
  const child = spawn(process.execPath, ['--import', 'tsx', 'simulator/main.ts', ...args], {
    stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
    env,
  });
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
