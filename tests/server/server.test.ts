/** The web server without a socket where that will do, and with one for the live feed. */
import { mkdtempSync, mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import type { Entry } from '../../config/wire/entry.ts';
import type { LiveMessage } from '../../config/wire/live.ts';
import { buildServer, type Server, type ServerParts } from '../../gateway/server/app.ts';
import { LiveFeed } from '../../gateway/server/live.ts';
import { BLANK_FEED, blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout } = demoSite();
const LATEST = { picture: blankPicture(1_000), feed: BLANK_FEED };
const HOST = { host: '127.0.0.1:8080' };

let folder = '';
let server: Server;
let entered: Entry[] = [];
let latest: ReturnType<ServerParts['latest']> = LATEST;

async function build(changes: Partial<ServerParts> = {}): Promise<Server> {
  return buildServer({
    layout,
    build: 'test',
    screen: folder,
    loopbackOnly: true,
    door: null,
    told: () => undefined,
    tls: null,
    run: () => ({ name: 'larch-cove-1', startedMs: 500 }),
    latest: () => latest,
    series: (channel) =>
      channel === 'discharge' ? { channel, atMs: [1], measured: [null], expected: [2], low: [1], high: [3] } : null,
    enter: (entry) => {
      entered.push(entry);
      return entry.kind === 'acknowledge' ? 'There is no such alarm.' : null;
    },
    ...changes,
  });
}

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-server-'));
  mkdirSync(join(folder, 'assets'));
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>wetdown</title>');
  writeFileSync(join(folder, 'assets/index-abc.js'), '1');
  entered = [];
  latest = LATEST;
  server = await build();
});
afterEach(async () => {
  await server.app.close();
  rmSync(folder, { recursive: true, force: true });
});

async function get(
  url: string,
  headers: Record<string, string> = {},
): Promise<{ status: number; headers: Record<string, unknown>; body: string }> {
  const answer = await server.app.inject({ url, headers: { ...HOST, ...headers } });
  return { status: answer.statusCode, headers: answer.headers, body: answer.body };
}

describe('reading', () => {
  it('gives the site, the picture and a chart as SI', async () => {
    expect(JSON.parse((await get('/api/site')).body)).toMatchObject({
      type: 'site',
      run: 'larch-cove-1',
      build: 'test',
      startedMs: 500,
      layout: { site: 'larch-cove' },
    });
    expect(JSON.parse((await get('/api/picture')).body)).toEqual(LATEST);
    expect(JSON.parse((await get('/api/series?channel=discharge&from=0&to=1000')).body)).toMatchObject({
      measured: [null],
      expected: [2],
    });
  });

  it.each([
    ['/api/series?channel=discharge&from=5&to=5', 422, 'request/bad-window'],
    ['/api/series?channel=discharge&from=x&to=5', 422, 'request/bad-window'],
    ['/api/series?from=1&to=5', 422, 'request/bad-window'],
    ['/api/series?channel=nobody&from=1&to=5', 404, 'site/unknown-channel'],
    ['/nowhere', 404, 'request/not-found'],
    ['/../package.json', 404, 'request/not-found'],
  ])('%s is %i %s', async (url, status, code) => {
    const answer = await get(url);
    expect([answer.status, JSON.parse(answer.body)]).toMatchObject([status, { error: { code } }]);
  });

  it('says that there is no picture yet, and that the screen is not built', async () => {
    latest = null;
    expect((await get('/api/picture')).status).toBe(503);
    rmSync(join(folder, 'index.html'));
    await server.app.close();
    server = await build();
    expect(JSON.parse((await get('/')).body)).toMatchObject({ error: { code: 'screen/not-built' } });
  });

  it('serves the screen under a strict policy that does not ask for https', async () => {
    const page = await get('/');
    expect(page.body).toContain('<title>wetdown</title>');
    expect(page.headers['cache-control']).toBe('no-cache');
    expect(String(page.headers['content-security-policy'])).toMatch(/default-src 'none'.*script-src 'self'/);
    expect(String(page.headers['content-security-policy'])).not.toMatch(/unsafe|upgrade-insecure/);
    expect(page.headers['strict-transport-security']).toBeUndefined();
    expect((await get('/assets/index-abc.js')).headers['cache-control']).toContain('immutable');
  });
});

describe('entries', () => {
  async function post(body: unknown, headers: Record<string, string> = {}): Promise<{ status: number; body: unknown }> {
    const payload = typeof body === 'string' ? body : JSON.stringify(body);
    const answer = await server.app.inject({
      method: 'POST',
      url: '/api/entries',
      headers: { ...HOST, 'content-type': 'application/json', ...headers },
      payload,
    });
    return { status: answer.statusCode, body: JSON.parse(answer.body) as unknown };
  }

  it.each([
    { kind: 'baseline', by: 'ab', headsSeenTurning: ['a-1', 'a-2'] },
    { kind: 'mode', by: 'ab', mode: 'filling', minutes: 10 },
    { kind: 'mode', by: 'ab', mode: null, minutes: 0 },
    { kind: 'gate', by: 'ab', gate: 'thief-a', opening: 0 },
    { kind: 'note', by: 'A. B.', words: 'tender is back' },
    { kind: 'shelve', by: 'ab', alarm: 'outflow:line-a', why: 'known weep', minutes: 15 },
    { kind: 'unshelve', by: 'ab', alarm: 'outflow:line-a' },
    { kind: 'looked', by: 'ab', at: 'a-1', found: 'nothing-wrong' },
    { kind: 'assign', by: 'ab', device: 'spare', record: 'p1', sensor: 'end-a-pressure' },
    { kind: 'tare', by: 'ab', sensor: 'end-a-pressure' },
  ] as const)('takes $kind', async (entry) => {
    expect(await post(entry)).toEqual({ status: 200, body: { ok: true } });
    expect(entered).toEqual([entry]);
  });

  it('hands on why the core refused', async () => {
    expect(await post({ kind: 'acknowledge', by: 'ab', alarm: 'x' })).toEqual({
      status: 422,
      body: { error: { code: 'entry/refused', words: 'There is no such alarm.', field: null } },
    });
  });

  it.each([
    [{ kind: 'note', by: 'ab' }, 'words'],
    [{ kind: 'note', by: 'ab', words: 7 }, 'words'],
    [{ kind: 'note', by: 'ab', words: '  ' }, 'words'],
    [{ kind: 'note', by: '', words: 'x' }, 'by'],
    [{ kind: 'note', words: 'x' }, 'by'],
    [{ kind: 'note', by: 'ab', words: 'x', priority: 1 }, 'priority'],
    [{ kind: 'gate', by: 'ab', gate: 'a', opening: '0' }, 'opening'],
    [{ kind: 'gate', by: 'ab', gate: 'a', opening: 1.1 }, 'opening'],
    [{ kind: 'mode', by: 'ab', mode: 'party', minutes: 1 }, 'mode'],
    [{ kind: 'mode', by: 'ab', mode: 'filling', minutes: -1 }, 'minutes'],
    [{ kind: 'baseline', by: 'ab', headsSeenTurning: ['a', 5] }, 'headsSeenTurning.1'],
    [{ kind: 'shelve', by: 'ab', alarm: 'x', why: ' ', minutes: 15 }, 'why'],
    [{ kind: 'shelve', by: 'ab', alarm: 'x', minutes: 15 }, 'why'],
    [{ kind: 'assign', by: 'ab', device: '', record: 'p1', sensor: 'end-a-pressure' }, 'device'],
    [{ kind: 'assign', by: 'ab', device: 'spare', record: 'p1' }, 'sensor'],
    [{ kind: 'start-pump', by: 'ab' }, 'kind'],
    [[], null],
  ])('refuses %j and names %s', async (body, field) => {
    const answer = await post(body);
    expect(answer.status).toBe(422);
    expect(answer.body).toMatchObject({ error: { code: 'entry/invalid', field } });
    expect(entered).toEqual([]);
  });

  it('refuses what is no JSON, what is too long, and what comes from another page', async () => {
    expect(await post('{')).toMatchObject({ status: 400, body: { error: { code: 'request/not-read' } } });
    expect((await post({ kind: 'note', by: 'ab', words: 'x'.repeat(70_000) })).status).toBe(413);
    expect((await post('kind=note', { 'content-type': 'text/plain' })).status).toBe(415);
    const note = { kind: 'note', by: 'ab', words: 'x' };
    expect(await post(note, { origin: 'http://elsewhere.example' })).toMatchObject({
      status: 403,
      body: { error: { code: 'request/foreign-origin' } },
    });
    expect(await post(note, { host: 'elsewhere.example:8080', origin: 'http://elsewhere.example:8080' })).toMatchObject(
      { status: 403 },
    );
    expect((await post(note, { origin: 'http://127.0.0.1:8080' })).status).toBe(200);
    expect(entered).toHaveLength(1);
  });

  it('answers by any name once it is opened to the network', async () => {
    await server.app.close();
    server = await build({ loopbackOnly: false });
    expect((await get('/api/site', { host: 'gateway.lan:8080', origin: 'http://gateway.lan:8080' })).status).toBe(200);
  });
});

describe('the live feed', () => {
  async function listen(): Promise<string> {
    await server.app.listen({ host: '127.0.0.1', port: 0 });
    return `${server.app.listeningOrigin.replace('http', 'ws')}/live`;
  }

  function messages(socket: WebSocket, count: number): Promise<LiveMessage[]> {
    return new Promise((done, failed) => {
      const got: LiveMessage[] = [];
      socket.on('message', (data: Buffer) => {
        got.push(JSON.parse(data.toString()) as LiveMessage);
        if (got.length === count) done(got);
      });
      socket.on('error', failed);
    });
  }

  it('greets with the site and the newest picture, then sends each picture', async () => {
    const socket = new WebSocket(await listen());
    await messages(socket, 2);
    const next = messages(socket, 1);
    server.live.publish({ type: 'picture', picture: blankPicture(2_000), feed: BLANK_FEED });
    expect((await next)[0]).toMatchObject({ type: 'picture', picture: { atMs: 2_000 } });
    socket.terminate();
  });

  it('greets with the site even before there is a picture', async () => {
    latest = null;
    const socket = new WebSocket(await listen());
    const [first] = await messages(socket, 1);
    expect(first).toMatchObject({ type: 'site', run: 'larch-cove-1' });
    socket.terminate();
  });

  it('turns away a page from elsewhere', async () => {
    const socket = new WebSocket(await listen(), { origin: 'http://elsewhere.example' });
    const why = await new Promise<string>((done) => socket.on('error', (error) => done(error.message)));
    expect(why).toContain('403');
    expect(server.live.count).toBe(0);
  });

  it('closes a socket to nowhere, and can itself be closed after that', async () => {
    const socket = new WebSocket((await listen()).replace('/live', '/nowhere'));
    await new Promise((done) => socket.on('close', done));
    expect(server.live.count).toBe(0);
    await server.app.close();
    expect(server.app.server.listening).toBe(false);
  });

  it('cuts off a screen that sends a book', async () => {
    const socket = new WebSocket(await listen());
    const closed = new Promise<number>((done) => socket.on('close', done));
    await messages(socket, 2);
    socket.send('x'.repeat(5_000));
    expect(await closed).toBe(1009);
  });

  it('tells screens to come back when a new run begins', async () => {
    const socket = new WebSocket(await listen());
    await messages(socket, 2);
    const closed = new Promise<number>((done) => socket.on('close', done));
    server.live.restart();
    expect(await closed).toBe(1012);
  });

  it('lets a screen that does not read miss frames, then cuts it off, and serves the others', () => {
    const feed = new LiveFeed();
    const fake = (bufferedAmount: number): { sent: number; ended: number; socket: WebSocket } => {
      const state = { sent: 0, ended: 0 };
      const socket = {
        OPEN: 1,
        readyState: 1,
        bufferedAmount,
        on: () => socket,
        send: () => void (state.sent += 1),
        terminate: () => void (state.ended += 1),
      } as unknown as WebSocket;
      return Object.assign(state, { socket });
    };
    const [slow, quick] = [fake(300_000), fake(0)];
    feed.join(slow.socket, () => true, []);
    feed.join(quick.socket, () => true, []);
    for (let frame = 0; frame < 31; frame += 1)
      feed.publish({ type: 'picture', picture: blankPicture(frame), feed: BLANK_FEED });
    expect([slow.sent, slow.ended, quick.sent, quick.ended]).toEqual([0, 1, 31, 0]);
    feed.close();
  });

  it('never queues values between pictures: a slow screen gets the newest of each channel once it can, or the picture', () => {
    const feed = new LiveFeed();
    const sent: string[] = [];
    const socket = {
      OPEN: 1,
      readyState: 1,
      bufferedAmount: 0,
      on: () => socket,
      send: (bytes: Buffer) => void sent.push(bytes.toString()),
      terminate: () => undefined,
    };
    feed.join(socket as unknown as WebSocket, () => true, []);
    const told = (...values: readonly (readonly [string, number])[]): void =>
      feed.values({
        type: 'values',
        simulated: false,
        values: values.map(([channel, value]) => ({ channel, value, atMs: 1, freshness: 'fresh', doubt: null })),
      });
    const values = (): unknown[] =>
      sent
        .splice(0)
        .map(
          (text) =>
            (JSON.parse(text) as { values?: { channel: string; value: number }[] }).values?.map(
              ({ channel, value }) => [channel, value],
            ) ?? 'picture',
        );
    told(['a', 1]);
    told();
    expect(values()).toEqual([[['a', 1]]]);
    socket.bufferedAmount = 1;
    told(['a', 2], ['b', 3]);
    told(['a', 4]);
    expect(values()).toEqual([]);
    socket.bufferedAmount = 0;
    told();
    told();
    expect(values()).toEqual([
      [
        ['a', 4],
        ['b', 3],
      ],
    ]);
    socket.bufferedAmount = 1;
    told(['a', 5]);
    feed.publish({ type: 'picture', picture: blankPicture(1_000), feed: BLANK_FEED });
    socket.bufferedAmount = 0;
    told();
    expect(values()).toEqual(['picture']);
    feed.close();
  });
});
