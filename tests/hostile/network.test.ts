/**
 * A gateway that runs its demonstration, while strangers throw garbage at every port it has: it stays up, bounded, and
 * sure.
 */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { request as httpRequest } from 'node:http';
import { connect, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { writeCredentials } from '../../gateway/access/credentials.ts';
import { seal } from '../../gateway/access/passphrase.ts';
import { aFreePort, startGateway, until, type GatewayProcess } from '../support/gateway-process.ts';
import { dieOf, harm } from './mutations.ts';

type Shown = { readonly picture: Picture; readonly feed: FeedPicture };

const PASSPHRASE = 'may work here today';
/** A device may send so many at once; it is held to its pace after that. */
const PACKETS = 2_000;
/** Judgement: what buffers of three hundred sockets and a journal's batch may take. */
const GROWTH_MAX_MB = 200;

let folder = '';
let gateway: GatewayProcess;
let brokerPort = 0;
let webPort = 0;
let cookie = '';
let before: Shown;
let residentBeforeMB = 0;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-hostile-'));
  const quick = { logN: 10, r: 8, p: 1 };
  const credentials = join(folder, 'credentials.json');
  writeCredentials(credentials, {
    passphrases: { look: null, work: await seal(PASSPHRASE, quick) },
    devices: new Map([['stranger', await seal('a stranger', quick)]]),
  });
  [brokerPort, webPort] = [await aFreePort(), await aFreePort()];
  gateway = await startGateway([
    '--data',
    folder,
    '--credentials',
    credentials,
    '--broker-port',
    String(brokerPort),
    '--port',
    String(webPort),
    '--scenario',
    'running',
  ]);
  const signed = await fetch(`${gateway.address}/api/access`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ passphrase: PASSPHRASE }),
  });
  cookie = signed.headers.get('set-cookie')?.split(';')[0] ?? '';
  before = await until(async () => {
    const now = await shown();
    return now !== null && now.picture.channels.every(({ freshness }) => freshness === 'fresh') && now;
  });
  residentBeforeMB = residentMB();
});
afterAll(async () => {
  await gateway.stop('SIGTERM');
  rmSync(folder, { recursive: true, force: true });
});

async function shown(): Promise<Shown | null> {
  const answer = await fetch(`${gateway.address}/api/picture`, { headers: { cookie } });
  return answer.ok ? ((await answer.json()) as Shown) : null;
}

function residentMB(): number {
  const [, kilobytes = '0'] = /^VmRSS:\s+(\d+)/m.exec(readFileSync(`/proc/${gateway.pid}/status`, 'utf8')) ?? [];
  return Number(kilobytes) / 1_000;
}

/** Writes, and resolves with what came back once the other side has closed. */
function throwAt(port: number, bytes: string | Uint8Array): Promise<string> {
  return new Promise((done) => {
    const socket = connect(port, '127.0.0.1');
    let back = '';
    socket.on('data', (chunk: Buffer) => (back += chunk.toString('latin1')));
    socket.on('error', () => undefined);
    socket.on('close', () => done(back));
    socket.write(bytes);
  });
}

const request = (start: string, ...headers: readonly string[]): string =>
  `${start} HTTP/1.1\r\nHost: 127.0.0.1:${webPort}\r\n${headers.map((header) => `${header}\r\n`).join('')}\r\n`;

describe.skipIf(noProcessTable())('under attack on every port', () => {
  it('the broker drops what is no MQTT', async () => {
    const frames = [
      Buffer.from([0x10, 0xff, 0xff, 0xff, 0xff, 0x7f]),
      Buffer.from([0x00, 0x00]),
      Buffer.from([0xf0, 0x02, 0, 0]),
      Buffer.from([0x30, 0x05, 0xff, 0xff, 1, 2, 3]),
      Buffer.from('GET / HTTP/1.1\r\n\r\n'),
      Buffer.concat([Buffer.from([0x10, 0x0c, 0, 4]), Buffer.from('MQTT'), Buffer.from([4, 0xff, 0, 0, 0, 0])]),
      ...Array.from({ length: 30 }, () =>
        Buffer.concat([Buffer.from([0x10 + Math.floor(Math.random() * 15), 0x20]), randomBytes(400)]),
      ),
    ];
    const closed = await Promise.all(frames.map((frame) => throwAt(brokerPort, frame)));
    expect(closed).toHaveLength(frames.length);
  });

  it('a device with a password of its own may say what it likes about itself only', async () => {
    const client = await connectAsync(`mqtt://127.0.0.1:${brokerPort}`, {
      username: 'stranger',
      password: 'a stranger',
      reconnectPeriod: 0,
    });
    const valid = {
      topic: 'wetdown/larch-cove/stranger/senml',
      payload: Buffer.from(
        '[{"bn":"larch-cove:pump-box:","bt":1790000000,"n":"discharge","u":"Pa","v":812500},{"n":"flow","u":"m3/s","v":0.004}]',
      ),
    };
    const die = dieOf(9_002);
    const payloads = Array.from({ length: PACKETS }, () => harm(valid, die).payload).filter(
      ({ length }) => length <= 60_000,
    );
    const taken = await Promise.all(
      payloads.map((payload) => client.publishAsync(valid.topic, Buffer.from(payload), { qos: 1 }).then(() => 1)),
    );
    expect(taken.length).toBe(payloads.length);
    await client.endAsync();
    const { feed } = await until(async () => {
      const now = await shown();
      return (now?.feed.rejected.length ?? 0) > 5 && now;
    });
    expect(new Set(feed.unknownDevices.map(({ device }) => device))).toEqual(new Set(['stranger']));
    expect(feed.unknownDevices.length).toBeLessThanOrEqual(10);
    for (const { topic } of feed.rejected) expect(topic).toBe(valid.topic);
  });

  it('the web server refuses malformed requests, endless headers and books', async () => {
    const throws = [
      'garbage\r\n\r\n',
      `GET /${'a'.repeat(40_000)} HTTP/1.1\r\n\r\n`,
      request('GET /', `X: ${'y'.repeat(40_000)}`),
      request('POST /api/access', 'Content-Length: 5', 'Transfer-Encoding: chunked'),
      `${request('POST /api/access', 'Content-Type: application/json', 'Transfer-Encoding: chunked')}zz\r\nnot a size`,
      request('GET /', 'Content-Length: -1'),
      request('GET /\u0000'),
      `${request('POST /api/access', 'Content-Type: application/json', 'Content-Length: 50000000')}${'x'.repeat(100_000)}`,
      randomBytes(2_000),
    ];
    const answers = await Promise.all(throws.map((bytes) => throwAt(webPort, bytes)));
    for (const answer of answers) expect(answer).toMatch(/^(HTTP\/1\.1 (400|413|414|431|401|404)|$)/);
  });

  it('a socket that breaks the protocol is cut off; one without a session is never made', async () => {
    const upgrade = (...more: readonly string[]): string =>
      request(
        'GET /live',
        'Connection: Upgrade',
        'Upgrade: websocket',
        'Sec-WebSocket-Version: 13',
        `Sec-WebSocket-Key: ${randomBytes(16).toString('base64')}`,
        ...more,
      );
    const frames = [
      [0x81, 0x05, 1, 2, 3, 4, 5],
      [0x83, 0x80, 0, 0, 0, 0],
      [0xf1, 0x80, 0, 0, 0, 0],
      [0x81, 0xff, 0x7f, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0, 0, 0, 0],
      [0x09, 0x80, 0, 0, 0, 0],
      [0x81, 0xfe, 0xff, 0xff, 0, 0, 0, 0],
    ];
    const cut = await Promise.all(
      frames.map((frame) =>
        throwAt(webPort, Buffer.concat([Buffer.from(upgrade(`Cookie: ${cookie}`)), Buffer.from(frame)])),
      ),
    );
    for (const answer of cut) expect(answer).toMatch(/^HTTP\/1\.1 101/);
    expect(await throwAt(webPort, upgrade())).toMatch(/^HTTP\/1\.1 401/);
    expect(await throwAt(webPort, upgrade(`Cookie: ${cookie}`, 'Origin: http://elsewhere.example'))).toMatch(
      /^HTTP\/1\.1 403/,
    );
  });

  it('clients that dribble lose their place, however many they are, and do not keep others out', async () => {
    const slow: Socket[] = [];
    const closed = Array.from(
      { length: 400 },
      () =>
        new Promise<void>((done) => {
          const socket = connect(webPort, '127.0.0.1', () => socket.write('GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: '));
          const dribble = setInterval(() => socket.write('a'), 500);
          socket.on('error', () => undefined);
          socket.on('close', () => {
            clearInterval(dribble);
            done();
          });
          slow.push(socket);
        }),
    );
    const fromElsewhere = await new Promise((done, failed) => {
      httpRequest(
        { host: '127.0.0.1', port: webPort, path: '/api/picture', localAddress: '127.0.0.2', headers: { cookie } },
        (answer) => done(answer.resume().statusCode),
      )
        .on('error', failed)
        .end();
    });
    expect(fromElsewhere).toBe(200);
    await Promise.all(closed);
    expect(slow.every(({ destroyed }) => destroyed)).toBe(true);
  });

  it('and all the while the site is watched as before, in bounded memory', async () => {
    const after = await until(shown);
    expect(after.picture.atMs).toBeGreaterThan(before.picture.atMs);
    expect(after.picture.channels.every(({ freshness }) => freshness === 'fresh')).toBe(true);
    expect(after.picture.alarms.map(({ verdict }) => verdict.id)).toEqual(
      before.picture.alarms.map(({ verdict }) => verdict.id),
    );
    expect(after.picture.advice.working).toBe(true);
    expect(after.feed.journal.state).toBe('writing');
    expect(residentMB() - residentBeforeMB).toBeLessThan(GROWTH_MAX_MB);
    expect(gateway.output()).not.toContain('fault in the gateway');
  });
});

function noProcessTable(): boolean {
  if (process.platform === 'linux') return false;
  process.stderr.write('SKIPPED: this machine has no /proc\n');
  return true;
}
