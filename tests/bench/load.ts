/**
 * How much the gateway bears, MQTT to journal to screen: readings a second as a ratio of a bare mqtt.js subscriber on
 * the same broker in the same run, and how late a reading is on the screen at 2,000 a second.
 *
 * Run: npm run bench -- load. One reading a packet at QoS 1, the hardest case; broker is mosquitto, sender a raw socket
 * that costs next to nothing, rounds alternate so that a busy machine slows both. On the screen is what its socket has
 * brought, by a picture or by the values between pictures; the lag of the picture itself, which carries the verdicts,
 * is told apart.
 */
import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { connect, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { WebSocket } from 'ws';
import type { LiveMessage } from '../../config/wire/live.ts';
import { demoSite } from '../support/demo-site.ts';
import { aFreePort, startGateway, until, type GatewayProcess } from '../support/gateway-process.ts';
import { findProgram } from '../support/machine.ts';

const ROUNDS = 3;
const PACKETS = 120_000;
const STEADY_A_SECOND = 2_000;
const STEADY_S = 20;
const { layout } = demoSite();
const SENSORS = layout.sensors.filter(({ quantity }) => quantity === 'pressure');
const SHOWN = SENSORS[0]!;
/** Steps of the value that carries the number of a packet: small against the range, large against rounding. */
const STEP_PA = 1;

/**
 * MQTT 3.1.1 sections 3.1 and 3.3, as far as this sender needs them; one byte of length will do for CONNECT, two for
 * PUBLISH.
 */
function connectPacket(): Buffer {
  const id = Buffer.from('load');
  return Buffer.concat([
    Buffer.from([0x10, 12 + id.length, 0, 4]),
    Buffer.from('MQTT'),
    Buffer.from([4, 2, 0, 0, 0, id.length]),
    id,
  ]);
}

function publishPacket(number: number): Buffer {
  const sensor = SENSORS[number % SENSORS.length]!;
  const topic = Buffer.from(`wetdown/${layout.site}/${sensor.device}/senml`);
  const payload = Buffer.from(`[{"n":"${sensor.record}","u":"Pa","v":${100_000 + STEP_PA * number}}]`);
  const length = 2 + topic.length + 2 + payload.length;
  const id = 1 + (number % 65_535);
  const head = [
    0x32,
    ...(length < 128 ? [length] : [0x80 | (length % 128), length >> 7]),
    topic.length >> 8,
    topic.length & 255,
  ];
  return Buffer.concat([Buffer.from(head), topic, Buffer.from([id >> 8, id & 255]), payload]);
}

async function sender(port: number): Promise<Socket> {
  const socket = connect(port, '127.0.0.1');
  socket.write(connectPacket());
  await new Promise((done) => socket.once('data', done));
  socket.on('data', () => undefined);
  return socket;
}

async function sendAll(socket: Socket, packets: readonly Buffer[]): Promise<void> {
  for (let at = 0; at < packets.length; at += 200) {
    if (!socket.write(Buffer.concat(packets.slice(at, at + 200))))
      await new Promise<void>((done) => void socket.once('drain', () => done()));
  }
}

/** Packets a second, from the first to the last, that a process was handed which does nothing else. */
async function bare(port: number, socket: Socket, packets: readonly Buffer[]): Promise<number> {
  const args = [
    '--import',
    'tsx',
    'tests/bench/bare-subscriber.ts',
    String(port),
    `wetdown/${layout.site}/+/senml`,
    String(packets.length),
  ];
  const child = spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'inherit'] });
  let output = '';
  child.stdout.on('data', (chunk: Buffer) => (output += chunk.toString()));
  await until(() => output.includes('ready'));
  await sendAll(socket, packets);
  return Number(await until(() => /rate (\S+)/.exec(output)?.[1]));
}

interface Frame {
  readonly arrivedMs: number;
  readonly atMs: number;
  readonly packets: number;
}

class Screen {
  readonly frames: Frame[] = [];
  /** The shown channel's values as they came, by either way. */
  readonly values: { readonly arrivedMs: number; readonly value: number }[] = [];
  readonly #socket: WebSocket;

  constructor(address: string) {
    this.#socket = new WebSocket(`${address.replace('http', 'ws')}/live`);
    this.#socket.on('message', (data: Buffer) => {
      const arrivedMs = Date.now();
      const message = JSON.parse(data.toString()) as LiveMessage;
      if (message.type === 'site') return;
      const value =
        (message.type === 'values' ? message.values : message.picture.channels).find(
          ({ channel }) => channel === SHOWN.id,
        )?.value ?? null;
      if (value !== null) this.values.push({ arrivedMs, value });
      if (message.type !== 'picture') return;
      const packets = message.feed.devices.reduce((sum, device) => sum + device.packets, 0);
      this.frames.push({ arrivedMs, atMs: message.picture.atMs, packets });
    });
  }

  close(): void {
    this.#socket.terminate();
  }
}

/** The slope between the frames that saw the middle of the load: what went before and after was not under it. */
async function loaded(screen: Screen, socket: Socket, packets: readonly Buffer[]): Promise<number> {
  const before = screen.frames.at(-1)?.packets ?? 0;
  await sendAll(socket, packets);
  await until(() => (screen.frames.at(-1)?.packets ?? 0) >= before + packets.length);
  const under = screen.frames.filter((frame) => frame.packets > before && frame.packets < before + packets.length);
  const [first, last] = [under[0], under.at(-1)];
  if (!first || !last || first === last) throw new Error('the load was over within two frames: raise PACKETS');
  return ((last.packets - first.packets) * 1_000) / (last.arrivedMs - first.arrivedMs);
}

async function steady(screen: Screen, socket: Socket): Promise<{ readonly waits: number[]; readonly lags: number[] }> {
  const sentMs: number[] = [];
  const startMs = Date.now();
  const from = screen.frames.length;
  while (sentMs.length < STEADY_A_SECOND * STEADY_S) {
    const due = Math.min(STEADY_A_SECOND * STEADY_S, Math.floor(((Date.now() - startMs) * STEADY_A_SECOND) / 1_000));
    const batch: Buffer[] = [];
    for (; sentMs.length < due; sentMs.push(Date.now())) batch.push(publishPacket(PACKETS + sentMs.length));
    if (batch.length > 0) socket.write(Buffer.concat(batch));
    await new Promise((done) => setTimeout(done, 5));
  }
  await new Promise((done) => setTimeout(done, 2_000));
  const waits: number[] = [];
  let next = 0;
  for (const { arrivedMs, value } of screen.values) {
    // Negative: what the rounds before left on the screen.
    const number = Math.round((value - 100_000) / STEP_PA) - PACKETS;
    for (; next <= number; next += SENSORS.length) waits.push(arrivedMs - sentMs[next]!);
  }
  const lags = screen.frames.slice(from).map(({ arrivedMs, atMs }) => arrivedMs - atMs);
  return { waits, lags };
}

function quantile(values: readonly number[], part: number): number {
  return (
    [...values].sort((one, other) => one - other)[Math.min(values.length - 1, Math.floor(part * values.length))] ??
    Number.NaN
  );
}

function residentMB(gateway: GatewayProcess): number {
  return Number(/^VmRSS:\s+(\d+)/m.exec(readFileSync(`/proc/${gateway.pid}/status`, 'utf8'))?.[1] ?? 0) / 1_000;
}

function tell(what: string, value: number, unit: string, aim = ''): void {
  console.log(`${what.padEnd(56)} ${value.toPrecision(3).padStart(8)} ${unit.padEnd(9)} ${aim && `aim: ${aim}`}`);
}

function startBroker(folder: string, port: number): ChildProcess {
  const program = findProgram('mosquitto');
  if (program === null) throw new Error('This bench needs mosquitto.');
  writeFileSync(
    join(folder, 'mosquitto.conf'),
    `listener ${port} 127.0.0.1\nallow_anonymous true\npersistence false\nmax_queued_messages ` +
      `0\nmax_inflight_messages 0\n`,
  );
  return spawn(program, ['-c', join(folder, 'mosquitto.conf')], { stdio: 'ignore' });
}

const folder = mkdtempSync(join(tmpdir(), 'wetdown-load-'));
const port = await aFreePort();
const broker = startBroker(folder, port);
const gateway = await startGateway(['--broker', `mqtt://127.0.0.1:${port}`, '--no-simulator', '--data', folder]);
const screen = new Screen(gateway.address);
try {
  await until(() => screen.frames.length > 3);
  const restingMB = residentMB(gateway);
  const packets = Array.from({ length: PACKETS }, (_, number) => publishPacket(number));
  const socket = await until(() => sender(port).catch(() => null));
  const rates: { bare: number; gateway: number }[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    const rate = await loaded(screen, socket, packets);
    // Stopped, not only idle: mosquitto hands the same packets to every subscriber.
    process.kill(gateway.pid, 'SIGSTOP');
    const alone = await bare(port, socket, packets);
    const before = screen.frames.at(-1)?.packets ?? 0;
    process.kill(gateway.pid, 'SIGCONT');
    await until(() => (screen.frames.at(-1)?.packets ?? 0) >= before + PACKETS);
    rates.push({ bare: alone, gateway: rate });
  }
  tell(
    'bare subscriber, packets of one reading, QoS 1',
    quantile(
      rates.map((rate) => rate.bare),
      0.5,
    ),
    'a second',
  );
  tell(
    'gateway: journalled, watched and on the screen',
    quantile(
      rates.map((rate) => rate.gateway),
      0.5,
    ),
    'a second',
  );
  tell(
    'gateway against the bare subscriber',
    quantile(
      rates.map((rate) => rate.gateway / rate.bare),
      0.5,
    ),
    'ratio',
    '0.5 at least',
  );
  const { waits, lags } = await steady(screen, socket);
  tell(`publish to screen at ${STEADY_A_SECOND} a second, median`, quantile(waits, 0.5), 'ms');
  tell(`publish to screen at ${STEADY_A_SECOND} a second, p99`, quantile(waits, 0.99), 'ms', 'under 250');
  tell('lag of the picture, median', quantile(lags, 0.5), 'ms');
  tell('lag of the picture, p99', quantile(lags, 0.99), 'ms');
  tell('memory of the gateway before the load', restingMB, 'MB');
  tell('memory of the gateway after it', residentMB(gateway), 'MB');
  socket.destroy();
} finally {
  screen.close();
  await gateway.stop('SIGTERM');
  broker.kill();
  rmSync(folder, { recursive: true, force: true });
}
