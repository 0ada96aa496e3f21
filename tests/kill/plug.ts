/**
 * Pulls the plug: a gateway is killed at random moments while devices send, and started again on the same data.
 *
 * In: which broker, how many kills, readings a second, a seed. Out: what the devices were told is safe and whether it
 * is in the record, once. Devices send one reading a packet, each with a value of its own. One kill in five falls into
 * the start of the gateway.
 */
import Database from 'better-sqlite3';
import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FeedPicture } from '../../config/wire/feed.ts';
import { demoSite } from '../support/demo-site.ts';
import { aFreePort, GATEWAY, until } from '../support/gateway-process.ts';
import { Mosquitto } from '../support/mosquitto.ts';
import { dieOf, type Die } from '../hostile/mutations.ts';
import { Sender } from './sender.ts';

export interface PlugOutcome {
  readonly kills: number;
  /** Readings whose device got its acknowledgement. */
  readonly acknowledged: number;
  /** Of these, not in the record; and packets that are in it twice. */
  readonly missing: number;
  readonly twice: number;
  readonly integrity: string;
  readonly files: number;
  /** From the start of the process to the first picture on its screen. */
  readonly backMs: readonly number[];
}

const { layout } = demoSite();
const SENSORS = layout.sensors.filter(({ quantity }) => quantity === 'pressure').slice(0, 6);
const TICK_MS = 20;

/** Sends on and on, through every cut. */
export class Senders {
  readonly acknowledged: number[] = [];
  sent = 0;
  readonly #senders: readonly Sender[];
  readonly #ticker: NodeJS.Timeout;

  constructor(port: number, aSecond: number) {
    this.#senders = SENSORS.map((_, index) => new Sender(port, `sender-${index}`));
    const startMs = Date.now();
    this.#ticker = setInterval(() => {
      for (const due = ((Date.now() - startMs) * aSecond) / 1_000; this.sent < due;) this.#send();
    }, TICK_MS);
  }

  #send(): void {
    this.sent += 1;
    const number = this.sent;
    const at = number % SENSORS.length;
    const { device, record } = SENSORS[at]!;
    const payload = JSON.stringify([{ bt: Date.now() / 1_000, n: record, u: 'Pa', v: number }]);
    this.#senders[at]!.send({
      topic: `wetdown/${layout.site}/${device}/senml`,
      payload,
      acknowledged: () => void this.acknowledged.push(number),
    });
  }

  /** No more; resolves when everything is acknowledged. */
  async rest(): Promise<void> {
    clearInterval(this.#ticker);
    await until(() => this.acknowledged.length === this.sent);
  }

  close(): void {
    clearInterval(this.#ticker);
    for (const sender of this.#senders) sender.end();
  }
}

/** What the record of a folder holds of the senders' readings. */
export function recorded(folder: string): {
  readonly values: ReadonlySet<number>;
  readonly twice: number;
  readonly integrity: string;
  readonly files: number;
} {
  const files = readdirSync(folder).filter((name) => name.endsWith('.sqlite'));
  const values = new Set<number>();
  let [twice, integrity] = [0, 'ok'];
  for (const file of files) {
    const database = new Database(join(folder, file));
    const answer = String(database.pragma('integrity_check', { simple: true }));
    if (answer !== 'ok') integrity = answer;
    for (const { value } of database.prepare<[], { value: number }>('select value from reading').iterate()) {
      if (values.has(value)) twice += 1;
      values.add(value);
    }
    twice +=
      database.prepare<[], { twice: number }>('select count(*) - count(distinct payload) as twice from packet').get()
        ?.twice ?? 0;
    database.close();
  }
  return { values, twice, integrity, files: files.length };
}

export class Plugged {
  readonly backMs: number[] = [];
  readonly #args: readonly string[];
  readonly #screen: number;
  #child: ReturnType<typeof spawn> | null = null;

  constructor(args: readonly string[], screen: number) {
    this.#args = [...args, '--port', String(screen), '--no-simulator'];
    this.#screen = screen;
  }

  start(): void {
    this.#child = spawn(process.execPath, [...GATEWAY, ...this.#args], {
      stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
    });
  }

  async onAir(): Promise<void> {
    const startMs = performance.now();
    await until(() => this.feed());
    this.backMs.push(performance.now() - startMs);
  }

  async connected(): Promise<void> {
    await until(async () => (await this.feed())?.broker.state === 'connected');
  }

  /** With a limit: a request that was on its way when the plug was pulled may never end. */
  async feed(): Promise<FeedPicture | null> {
    try {
      const answer = await fetch(`http://127.0.0.1:${this.#screen}/api/picture`, {
        signal: AbortSignal.timeout(1_000),
      });
      return answer.ok ? ((await answer.json()) as { feed: FeedPicture }).feed : null;
    } catch {
      return null;
    }
  }

  end(signal: 'SIGKILL' | 'SIGTERM'): Promise<void> {
    const child = this.#child;
    return new Promise((done) => {
      if (!child || child.exitCode !== null || child.signalCode !== null) return done();
      child.once('close', () => done());
      child.kill(signal);
    });
  }
}

export const wait = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));

export async function pullThePlug(
  kind: 'inside' | 'mosquitto',
  kills: number,
  aSecond: number,
  seed: number,
  told: (kill: number) => void = () => undefined,
): Promise<PlugOutcome> {
  const folder = mkdtempSync(join(tmpdir(), 'wetdown-kill-'));
  const die: Die = dieOf(seed);
  const foreign =
    kind === 'mosquitto' ? await Mosquitto.start(folder, ['persistence false', 'max_queued_messages 0']) : null;
  const brokerPort = foreign?.port ?? (await aFreePort());
  const data = join(folder, 'data');
  const gateway = new Plugged(
    ['--data', data, ...(foreign ? ['--broker', foreign.url] : ['--broker-port', String(brokerPort)])],
    await aFreePort(),
  );
  let senders: Senders | null = null;
  try {
    gateway.start();
    await gateway.onAir();
    // A session at a foreign broker begins with the gateway's first connection: what was sent before is nobody's.
    await gateway.connected();
    senders = new Senders(brokerPort, aSecond);
    const { acknowledged } = senders;
    for (let kill = 1; kill <= kills; kill += 1) {
      await wait(1_500 * die());
      await gateway.end('SIGKILL');
      gateway.start();
      if (die() < 0.2 && kill < kills) await wait(1_000 * die());
      else await gateway.onAir();
      told(kill);
    }
    await senders.rest();
    await wait(300);
    await gateway.end('SIGKILL');
    const { integrity } = recorded(data);
    gateway.start();
    await gateway.onAir();
    // What a foreign broker acknowledged it may still have to hand over.
    await until(async () => {
      await wait(500);
      const { values } = recorded(data);
      return foreign === null || acknowledged.every((number) => values.has(number));
    });
    await gateway.end('SIGTERM');
    const record = recorded(data);
    const missing = acknowledged.filter((number) => !record.values.has(number)).length;
    return {
      kills: kills + 1,
      acknowledged: acknowledged.length,
      missing,
      twice: record.twice,
      integrity: integrity === 'ok' ? record.integrity : integrity,
      files: record.files,
      backMs: gateway.backMs,
    };
  } finally {
    senders?.close();
    await gateway.end('SIGKILL');
    await foreign?.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}
