/**
 * A terminal or log that cannot be written ends nothing: the gateway records, serves and ends as it should.
 *
 * Each case starts the real process, makes its output fail in one way, and lets a stranger cause lines with wrong
 * passphrases.
 */
import Database from 'better-sqlite3';
import { execFileSync, spawn, type ChildProcess } from 'node:child_process';
import {
  closeSync,
  constants,
  mkdtempSync,
  openSync,
  readFileSync,
  readdirSync,
  readSync,
  rmSync,
  writeSync,
} from 'node:fs';
import mqtt from 'mqtt';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { seal } from '../../gateway/access/passphrase.ts';
import { writeCredentials } from '../../gateway/access/credentials.ts';
import { Terminal } from '../../gateway/launch/terminal.ts';
import { aFreePort, GATEWAY, LAUNCHER, until } from '../support/gateway-process.ts';

let folder = '';
let child: ChildProcess | null = null;
let credentials = '';
const secrets = mkdtempSync(join(tmpdir(), 'wetdown-terminal-secrets-'));

beforeAll(async () => {
  credentials = join(secrets, 'credentials');
  const quick = { logN: 10, r: 8, p: 1 };
  writeCredentials(credentials, {
    passphrases: { look: await seal('may look here', quick), work: await seal('may work here', quick) },
    devices: new Map(),
  });
});
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-terminal-'));
});
afterEach(async () => {
  if (child && child.exitCode === null && child.signalCode === null) {
    child.kill('SIGKILL');
    await new Promise((done) => child!.once('exit', done));
  }
  rmSync(folder, { recursive: true, force: true });
});

type Output = 'pipe' | number;

async function start(
  stdout: Output,
  stderr: Output,
  entry = GATEWAY,
  more: readonly string[] = ['--no-simulator'],
): Promise<{ address: string; broker: string }> {
  const [port, brokerPort] = [await aFreePort(), await aFreePort()];
  child = spawn(
    process.execPath,
    [
      ...entry,
      ...['--port', String(port), '--broker-port', String(brokerPort), '--data', folder],
      ...['--credentials', credentials, ...more],
    ],
    { stdio: ['ignore', stdout, stderr, 'ipc'] },
  );
  const address = `http://127.0.0.1:${port}`;
  await until(async () => {
    if (child?.exitCode !== null) throw new Error(`ended with ${child?.exitCode}`);
    return fetch(`${address}/api/access`).then(
      (answer) => answer.ok,
      () => false,
    );
  });
  return { address, broker: `mqtt://127.0.0.1:${brokerPort}` };
}

async function guess(address: string, times: number): Promise<number[]> {
  const answers: number[] = [];
  for (let time = 0; time < times; time += 1) {
    const { status } = await fetch(`${address}/api/access`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', origin: address },
      body: JSON.stringify({ passphrase: 'guessed' }),
    });
    answers.push(status);
  }
  return answers;
}

/** A packet is acknowledged, so it is on disk; and the file says so too. */
async function records(broker: string): Promise<number> {
  const client = await mqtt.connectAsync(broker);
  const body = JSON.stringify([{ n: 'discharge', u: 'Pa', v: 700_000 }]);
  await client.publishAsync('wetdown/larch-cove/pump-box/senml', body, { qos: 1 });
  await client.endAsync();
  const file = readdirSync(folder).find((name) => name.endsWith('.sqlite'))!;
  const database = new Database(join(folder, file), { readonly: true });
  const row = database.prepare<[], { n: number }>('select count(*) as n from reading').get();
  database.close();
  return row?.n ?? 0;
}

function lastRecord(): { readonly integrity: unknown; readonly files: number } {
  const files = readdirSync(folder).filter((name) => /\.sqlite(-wal)?$/.test(name));
  const database = new Database(join(folder, files[0]!), { readonly: true });
  const integrity = database.pragma('integrity_check', { simple: true });
  database.close();
  return { integrity, files: files.length };
}

async function endsWell(): Promise<number | null> {
  const ended = new Promise<number | null>((done) => child!.once('exit', (code) => done(code)));
  child!.kill('SIGTERM');
  return ended;
}

/** A pipe that is full, whose reader takes nothing off it until it is told to. */
class StandingPipe {
  readonly end: number;
  readonly #reader: number;

  constructor(where: string) {
    const path = join(where, 'pipe');
    execFileSync('mkfifo', [path]);
    this.#reader = openSync(path, constants.O_RDWR | constants.O_NONBLOCK);
    this.end = openSync(path, constants.O_WRONLY);
    for (let size = 65_536; size >= 1; size = Math.floor(size / 2)) this.#fill(Buffer.alloc(size, ' '));
  }

  #fill(bytes: Buffer): void {
    try {
      for (;;) writeSync(this.#reader, bytes);
    } catch (error) {
      expect(error).toMatchObject({ code: 'EAGAIN' });
    }
  }

  read(): string {
    const bytes = Buffer.alloc(65_536);
    try {
      return bytes.subarray(0, readSync(this.#reader, bytes)).toString();
    } catch {
      return '';
    }
  }

  close(): void {
    closeSync(this.end);
    closeSync(this.#reader);
  }
}

describe('the gateway goes on', () => {
  it('when whoever read its output is gone', async () => {
    const { address, broker } = await start('pipe', 'pipe');
    child!.stdout!.destroy();
    child!.stderr!.destroy();
    expect(await guess(address, 3)).toEqual([401, 401, 401]);
    expect(await records(broker)).toBe(1);
    expect(await endsWell()).toBe(0);
  });

  it('when its log lies on a full disk', async () => {
    const full = openSync('/dev/full', 'w');
    const { address, broker } = await start(full, full);
    closeSync(full);
    expect(await guess(address, 3)).toEqual([401, 401, 401]);
    expect(await records(broker)).toBe(1);
    expect(await endsWell()).toBe(0);
  });

  it('when whoever reads its output stands still, and its last lines hold up no ending', async () => {
    const pipe = new StandingPipe(folder);
    const { address, broker } = await start(pipe.end, pipe.end);
    expect(await guess(address, 3)).toEqual([401, 401, 401]);
    expect(await records(broker)).toBe(1);
    await endsWell();
    expect(lastRecord()).toMatchObject({ integrity: 'ok', files: 1 });
    pipe.close();
  });

  it('under the launcher too', async () => {
    const { address } = await start('pipe', 'pipe', LAUNCHER);
    child!.stdout!.destroy();
    child!.stderr!.destroy();
    expect(await guess(address, 2)).toEqual([401, 401]);
    expect(await endsWell()).toBe(0);
  });
});

describe('a terminal that stands still', () => {
  it('holds up nobody, keeps the first lines in order, and says how many are missing', async () => {
    const pipe = new StandingPipe(folder);
    const terminal = new Terminal(pipe.end);
    for (let line = 0; line < 300; line += 1) terminal.say(`line ${line}`);
    expect(await terminal.settled(50)).toBe(false);
    let told = '';
    const settled = terminal.settled(5_000);
    for (const end = Date.now() + 5_000; Date.now() < end && !told.includes('line 200');) {
      told += pipe.read();
      await new Promise((done) => setTimeout(done, 5));
    }
    expect(await settled).toBe(true);
    terminal.say('later');
    await terminal.settled(1_000);
    told += pipe.read();
    pipe.close();
    const lines = told.trim().split('\n');
    // One is on its way while two hundred wait.
    expect(lines.filter((line) => line.startsWith('line')).map((line) => Number(line.slice(5)))).toEqual(
      Array.from({ length: 201 }, (_, line) => line),
    );
    expect(lines.slice(201)).toEqual(['(99 lines before this could not be written)', 'later']);
  });

  it('counts what a full disk took, once there is room again', async () => {
    const path = join(folder, 'log');
    const log = openSync(path, 'a');
    const spare = openSync('/dev/full', 'w');
    const terminal = new Terminal(spare);
    for (const words of ['one', 'two']) terminal.say(words);
    expect(await terminal.settled(1_000)).toBe(true);
    expect(() => terminal.last('three')).not.toThrow();
    // The same number, now of a file that takes lines.
    closeSync(spare);
    const again = openSync(path, 'a');
    expect(again).toBe(spare);
    terminal.say('four');
    terminal.say('five');
    expect(await terminal.settled(1_000)).toBe(true);
    for (const open of [log, again]) closeSync(open);
    expect(readFileSync(path, 'utf8')).toBe('(2 lines before this could not be written)\nfour\nfive\n');
  });
});
