/** Starts the gateway as people do, and talks to it over the network only. */
import { spawn, type ChildProcess } from 'node:child_process';
import { createServer } from 'node:net';

export interface GatewayProcess {
  readonly pid: number;
  readonly output: () => string;
  readonly address: string;
  readonly stop: (signal: NodeJS.Signals) => Promise<number | null>;
}

export interface Ended {
  readonly code: number | null;
  readonly output: string;
}

export const GATEWAY = ['--import', 'tsx', 'gateway/main.ts'];
/** As `npm start` does it. */
export const LAUNCHER = ['gateway/launch/start.mjs'];

function launch(
  entry: readonly string[],
  args: readonly string[],
  environment: Readonly<Record<string, string>> = {},
): { child: ChildProcess; output: () => string; ended: Promise<number | null> } {
  // The channel ends the gateway with the test, however the test ends.
  const child = spawn(process.execPath, [...entry, ...args], {
    stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
    env: { ...process.env, ...environment },
  });
  let output = '';
  child.stdout?.on('data', (chunk: Buffer) => (output += chunk.toString()));
  child.stderr?.on('data', (chunk: Buffer) => (output += chunk.toString()));
  const ended = new Promise<number | null>((done) => void child.once('close', (code) => done(code)));
  return { child, output: () => output, ended };
}

export async function runToItsEnd(args: readonly string[]): Promise<Ended> {
  const { output, ended } = launch(GATEWAY, args);
  return { code: await ended, output: output() };
}

export async function startGateway(
  args: readonly string[],
  entry: readonly string[] = GATEWAY,
  environment: Readonly<Record<string, string>> = {},
): Promise<GatewayProcess> {
  const { child, output, ended } = launch(entry, args, environment);
  const address = await until(
    () =>
      /^wetdown: (https?:\S+)$/m.exec(output())?.[1] ??
      (child.exitCode === null ? null : Promise.reject(new Error(output()))),
  );
  return {
    pid: child.pid ?? 0,
    output,
    address,
    stop: (signal) => {
      child.kill(signal);
      return ended;
    },
  };
}

/** Asks again until there is an answer; the test's own time limit ends it. */
export async function until<Answer>(
  ask: () => Answer | null | undefined | false | Promise<Answer | null | undefined | false>,
): Promise<Answer> {
  for (;;) {
    const answer = await ask();
    if (answer !== null && answer !== undefined && answer !== false) return answer;
    await new Promise((done) => setTimeout(done, 50));
  }
}

/**
 * Ports below those that a system hands out to whoever asks for any: one of these may be gone before it is used here.
 * Each worker has a thousand of its own and begins anywhere in them, because a second run may go on beside this one.
 */
const FIRST_PORT = 20_000;
const A_WORKER = 1_000;
const WORKERS = 12;
const worker = Number(process.env['VITEST_POOL_ID'] ?? 0) % WORKERS;
let port = FIRST_PORT + Math.floor(A_WORKER * (worker + 0.9 * Math.random()));

/** One that no other worker of these tests is given, and that was free a moment ago. */
export async function aFreePort(): Promise<number> {
  port += 1;
  const free = await new Promise<boolean>((done) => {
    const probe = createServer();
    probe.once('error', () => done(false));
    probe.listen(port, '127.0.0.1', () => probe.close(() => done(true)));
  });
  return free ? port : aFreePort();
}
