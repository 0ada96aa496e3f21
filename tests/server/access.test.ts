/** The lock on the web server: what is open, what each role may do, and what a stranger or another site's page gets. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { request as secureRequest } from 'node:https';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import type { Role } from '../../config/wire/access.ts';
import type { Entry } from '../../config/wire/entry.ts';
import { Sessions } from '../../gateway/access/sessions.ts';
import { seal } from '../../gateway/access/passphrase.ts';
import { buildServer, type Server, type ServerParts } from '../../gateway/server/app.ts';
import { BLANK_FEED, blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';
import { missing } from '../support/machine.ts';

const { layout } = demoSite();
const HOST = { host: 'gateway.lan:8080' };
const NOTE = { kind: 'note', by: 'ab', words: 'x' };
const SEALS = { look: '', work: '' };

let folder = '';
let server: Server;
let entered: [Entry, Role | null][] = [];
let told: string[] = [];

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-lock-'));
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>wetdown</title>');
  for (const role of ['look', 'work'] as const) SEALS[role] = await seal(`may ${role} here`, { logN: 10, r: 8, p: 1 });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));
beforeEach(async () => {
  entered = [];
  told = [];
  server = await build();
});
afterEach(() => server.app.close());

function build(tls: ServerParts['tls'] = null): Promise<Server> {
  return buildServer({
    layout,
    build: 'test',
    screen: folder,
    loopbackOnly: false,
    door: new Sessions({ passphrases: SEALS, devices: new Map() }),
    tls,
    told: (words) => void told.push(words),
    run: () => ({ name: 'larch-cove-1', startedMs: 500 }),
    latest: () => ({ picture: blankPicture(1_000), feed: BLANK_FEED }),
    series: () => null,
    enter: (entry, role) => {
      entered.push([entry, role]);
      return null;
    },
  });
}

async function ask(
  method: 'GET' | 'POST' | 'DELETE',
  url: string,
  headers: Record<string, string> = {},
  body?: unknown,
): Promise<{ status: number; cookie: string; headers: Record<string, unknown>; body: unknown }> {
  const answer = await server.app.inject({
    method,
    url,
    headers: { ...HOST, ...headers },
    ...(body === undefined ? {} : { payload: body as object }),
  });
  const cookie = String(answer.headers['set-cookie'] ?? '');
  return {
    status: answer.statusCode,
    cookie,
    headers: answer.headers,
    body: answer.body.startsWith('{') ? (JSON.parse(answer.body) as unknown) : answer.body,
  };
}

async function signIn(role: Role): Promise<string> {
  const { status, cookie } = await ask('POST', '/api/access', {}, { passphrase: `may ${role} here` });
  expect(status).toBe(200);
  return cookie.split(';')[0] ?? '';
}

describe('a stranger', () => {
  it.each([
    '/api/site',
    '/api/picture',
    '/api/series?channel=a&from=0&to=1',
    '/%61pi/site',
    '/api%2Fsite',
    '//api/site',
    '/API/site',
    '/api/site/',
    '/api/site?x=/api/access',
    '/./api/site',
    '/live',
    '/l%69ve',
  ])('learns nothing from %s', async (url) => {
    const { status, body } = await ask('GET', url);
    expect([401, 403, 404]).toContain(status);
    expect(JSON.stringify(body)).not.toContain(layout.name);
  });

  it('sees the screen to sign in on, and that there is a lock', async () => {
    expect((await ask('GET', '/')).body).toContain('<title>wetdown');
    expect((await ask('GET', '/api/access')).body).toEqual({ asked: true, role: null });
  });

  it('enters nothing, with or without a made-up session', async () => {
    expect((await ask('POST', '/api/entries', {}, NOTE)).status).toBe(401);
    expect((await ask('POST', '/api/entries', { cookie: 'wetdown=AAAA; wetdown=' }, NOTE)).status).toBe(401);
    expect(entered).toEqual([]);
  });

  it('waits longer and longer, and no passphrase is written down anywhere', async () => {
    const answers = [];
    for (let tries = 0; tries < 5; tries += 1)
      answers.push(await ask('POST', '/api/access', {}, { passphrase: 'open sesame please' }));
    expect(answers.map(({ status }) => status)).toEqual([401, 401, 401, 429, 429]);
    expect(answers.at(-1)?.headers['retry-after']).toBe('1');
    expect(told).toEqual(Array.from({ length: 3 }, () => 'A wrong passphrase from 127.0.0.1.'));
  });

  it.each([
    [{ passphrase: 7 }, 422],
    [{ passphrase: 'x', role: 'work' }, 422],
    [{}, 422],
    [{ passphrase: 'x'.repeat(3_000) }, 413],
  ])('with %j is refused before any work is done', async (body, status) => {
    expect((await ask('POST', '/api/access', {}, body)).status).toBe(status);
  });
});

describe('a role', () => {
  it('look reads and enters nothing', async () => {
    const cookie = await signIn('look');
    expect((await ask('GET', '/api/site', { cookie })).status).toBe(200);
    expect(await ask('POST', '/api/entries', { cookie }, NOTE)).toMatchObject({
      status: 403,
      body: { error: { code: 'access/work-only' } },
    });
    expect(entered).toEqual([]);
  });

  it('work enters, and the role goes with the entry', async () => {
    const cookie = await signIn('work');
    expect((await ask('POST', '/api/entries', { cookie }, NOTE)).status).toBe(200);
    expect(entered).toEqual([[NOTE, 'work']]);
    expect((await ask('GET', '/api/access', { cookie })).body).toEqual({ asked: true, role: 'work' });
  });

  it('is over once signed out', async () => {
    const cookie = await signIn('work');
    expect((await ask('DELETE', '/api/access', { cookie })).cookie).toContain('Max-Age=0');
    expect((await ask('GET', '/api/site', { cookie })).status).toBe(401);
  });

  it('lives in a cookie that no script reads and no other site uses', async () => {
    const { cookie } = await ask('POST', '/api/access', {}, { passphrase: 'may look here' });
    expect(cookie).toMatch(/^wetdown=[\w-]{43}; Path=\/; Max-Age=86400; HttpOnly; SameSite=Strict$/);
  });

  it('is of no use to a page from elsewhere, whatever browser it runs in', async () => {
    const cookie = await signIn('work');
    expect((await ask('POST', '/api/entries', { cookie, origin: 'http://elsewhere.example' }, NOTE)).status).toBe(403);
    expect(
      (await ask('POST', '/api/entries', { cookie, 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'no-cors' }, NOTE))
        .status,
    ).toBe(403);
    expect(
      (await ask('GET', '/api/site', { cookie, 'sec-fetch-site': 'same-site', 'sec-fetch-mode': 'cors' })).status,
    ).toBe(403);
    expect(entered).toEqual([]);
  });
});

describe('the live feed', () => {
  function outcome(address: string, headers: Record<string, string>, origin?: string): Promise<string> {
    const socket = new WebSocket(address, { headers, ...(origin === undefined ? {} : { origin }) });
    return new Promise((done) => {
      socket.on('message', () => {
        done('heard');
        socket.terminate();
      });
      socket.on('error', (error) => done(error.message));
    });
  }

  it('opens for who is signed in, from this page only', async () => {
    await server.app.listen({ host: '127.0.0.1', port: 0 });
    const address = `${server.app.listeningOrigin.replace('http', 'ws')}/live`;
    const cookie = await signIn('look');
    expect(await outcome(address, {})).toContain('401');
    expect(await outcome(address, { cookie })).toBe('heard');
    expect(await outcome(address, { cookie }, 'http://elsewhere.example')).toContain('403');
  });

  it('ends with the session', async () => {
    await server.app.listen({ host: '127.0.0.1', port: 0 });
    const cookie = await signIn('look');
    const socket = new WebSocket(`${server.app.listeningOrigin.replace('http', 'ws')}/live`, { headers: { cookie } });
    await new Promise((done) => socket.once('message', done));
    const closed = new Promise<number>((done) => socket.once('close', done));
    await ask('DELETE', '/api/access', { cookie });
    server.live.publish({ type: 'picture', picture: blankPicture(2_000), feed: BLANK_FEED });
    expect(await closed).toBe(1008);
  });

  it('has room for a hundred screens and no more', async () => {
    await server.app.listen({ host: '127.0.0.1', port: 0 });
    const cookie = await signIn('look');
    const address = `${server.app.listeningOrigin.replace('http', 'ws')}/live`;
    const sockets = Array.from({ length: 101 }, () => new WebSocket(address, { headers: { cookie } }));
    const codes = await Promise.race(
      sockets.map((socket) => new Promise<number>((done) => socket.once('close', done))),
    );
    expect(codes).toBe(1013);
    for (const socket of sockets) socket.terminate();
  });
});

describe.skipIf(missing('openssl'))('over TLS', () => {
  it('the cookie is bound to the host and never sent in clear', async () => {
    const [key, cert] = [join(folder, 'key.pem'), join(folder, 'cert.pem')];
    execFileSync(
      'openssl',
      [
        'req',
        '-x509',
        '-newkey',
        'ec',
        '-pkeyopt',
        'ec_paramgen_curve:P-256',
        '-nodes',
        '-keyout',
        key,
        '-out',
        cert,
        '-days',
        '2',
        '-subj',
        '/CN=gateway',
        '-addext',
        'subjectAltName=IP:127.0.0.1',
      ],
      { stdio: 'ignore' },
    );
    await server.app.close();
    server = await build({ key: readFileSync(key), cert: readFileSync(cert) });
    await server.app.listen({ host: '127.0.0.1', port: 0 });
    const port = Number(new URL(server.app.listeningOrigin).port);
    const status = await new Promise((done, failed) => {
      secureRequest({ host: '127.0.0.1', port, path: '/api/site', ca: readFileSync(cert) }, (answer) =>
        done(answer.statusCode),
      )
        .on('error', failed)
        .end();
    });
    expect(status).toBe(401);
    expect((await ask('POST', '/api/access', {}, { passphrase: 'may look here' })).cookie).toMatch(
      /^__Host-wetdown=.*; Secure$/,
    );
  });
});
