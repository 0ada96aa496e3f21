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

export async function aFreePort(): Promise<number> {
  return new Promise((done, failed) => {
    const probe = createServer();
    probe.once('error', failed);
    probe.listen(0, '127.0.0.1', () => {
      const address = probe.address();
      probe.close(() => done(typeof address === 'object' && address ? address.port : 0));
    });
  });
}
