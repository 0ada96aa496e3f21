/**
 * Stands in for the gateway while the screen is tested or worked on: serves a built screen under the gateway's own
 * headers, plays fixture pictures, answers series and entries. It can be gone, be back with another screen, run or
 * site, ask for a passphrase, and fall silent on an open link.
 */
import { readFileSync } from 'node:fs';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { extname, join } from 'node:path';
import { WebSocketServer } from 'ws';
import type { Layout } from '../../config/layout/layout.ts';
import type { ReplayState } from '../../config/wire/replay.ts';
import type { AccessAnswer } from '../../config/wire/access.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { LiveMessage } from '../../config/wire/live.ts';
import type { Alarm, AsideAlarm, Picture } from '../../config/wire/wire.ts';
import { cacheRule, SECURITY_HEADERS } from '../../gateway/server/headers.ts';
import type { Condition } from '../ui/fixture-conditions.ts';
import { feed, picture, series } from '../ui/fixture.ts';

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
  '.json': 'application/json',
};

export class FakeGateway {
  condition: Condition = 'healthy';
  /** A picture of the core's own, shown as of now in the place of the condition's. */
  given: Picture | null = null;
  simulated = true;
  build = 'one';
  run = 'fixture';
  /** Who is signed in (null: nobody is); 'not-asked': everything is open. Any passphrase will do. */
  role: AccessAnswer['role'] | 'not-asked' = 'not-asked';
  replay: ReplayState | null = null;
  /** Addresses that fail; what was asked for, in order. */
  failing: RegExp | null = null;
  readonly asked: string[] = [];
  /** In place of what was built: a screen of another identity. */
  screenId: string | null = null;
  /** Its clock runs ahead of this machine's by so much: time that has passed for a page whose clock was put forward. */
  aheadMs = 0;
  diskFails = false;
  /** What a test makes of the alarms of the condition. */
  change: ((alarms: readonly Alarm[], atMs: number) => readonly Alarm[]) | null = null;
  /** Another one each time a gateway is started. */
  session = 'first';
  /** Entries that were taken while the disk failed, in this session. */
  unwritten = 0;
  #isGone = false;
  #isSilent = false;
  readonly entries: Entry[] = [];
  layout: Layout;
  readonly #folder: string;
  readonly #server: Server;
  readonly #sockets: WebSocketServer;
  #acknowledged = new Map<string, string>();
  #shelf = new Map<string, AsideAlarm['aside']>();

  constructor(layout: Layout, folder: string) {
    this.layout = layout;
    this.#folder = folder;
    this.#server = createServer((request, response) => {
      this.asked.push(new URL(request.url ?? '/', 'http://localhost').pathname);
      if (this.#isGone) request.destroy();
      else if (!this.#isSilent) this.#answer(request, response);
    });
    this.#sockets = new WebSocketServer({ server: this.#server, path: '/live' });
    this.#sockets.on('connection', (socket) => {
      if (this.#isGone) return socket.terminate();
      if (this.#isSilent) return;
      if (this.role === null) return socket.close(1008, 'signed out');
      socket.send(
        JSON.stringify({
          type: 'site',
          layout: this.layout,
          run: this.run,
          build: this.build,
          startedMs: 0,
        } satisfies LiveMessage),
      );
      socket.send(this.#picture());
    });
  }

  async listen(port = 0): Promise<string> {
    await new Promise<void>((resolve) => this.#server.listen(port, '127.0.0.1', resolve));
    return `http://127.0.0.1:${(this.#server.address() as AddressInfo).port}`;
  }

  /** One picture of the present condition to every screen. */
  tell(): void {
    if (this.#isSilent) return;
    for (const socket of this.#sockets.clients) socket.send(this.#picture());
  }

  /** Out of reach from now on, or back again. */
  set gone(isGone: boolean) {
    this.#isGone = isGone;
    if (isGone) for (const socket of this.#sockets.clients) socket.terminate();
  }

  /** Half open: connections stand, and nothing comes over them. */
  set silent(isSilent: boolean) {
    this.#isSilent = isSilent;
  }

  /** Screens are cut off and greeted anew when they come back. */
  greet(): void {
    for (const socket of this.#sockets.clients) socket.close(1012);
  }

  /** Between pictures. */
  news(channel: string, value: number, simulated = this.simulated): void {
    const message = {
      type: 'values',
      simulated,
      values: [{ channel, value, atMs: Date.now(), freshness: 'fresh', doubt: null }],
    } satisfies LiveMessage;
    for (const socket of this.#sockets.clients) socket.send(JSON.stringify(message));
  }

  /** Between pictures, everything that is heard. */
  values(): void {
    const atMs = Date.now() + this.aheadMs;
    const heard = picture(this.layout, this.condition, atMs).channels.filter(({ freshness }) => freshness === 'fresh');
    const values = heard.map(({ channel, value, freshness, doubt }) => ({ channel, value, atMs, freshness, doubt }));
    for (const socket of this.#sockets.clients)
      socket.send(JSON.stringify({ type: 'values', simulated: this.simulated, values } satisfies LiveMessage));
  }

  /** As a gateway that dies: screens are cut off. */
  async close(): Promise<void> {
    for (const socket of this.#sockets.clients) socket.terminate();
    this.#sockets.close();
    this.#server.closeAllConnections();
    await new Promise((resolve) => this.#server.close(resolve));
  }

  #picture(): string {
    const atMs = Math.floor((Date.now() + this.aheadMs) / 1_000) * 1_000;
    const told = this.given ? asOf(this.given, atMs) : picture(this.layout, this.condition, atMs, this.simulated);
    const heard = feed(this.layout, atMs);
    const alarms = (this.change?.(told.alarms, atMs) ?? told.alarms).map((alarm) => {
      const by = this.#acknowledged.get(alarm.verdict.id);
      return by === undefined ? alarm : { ...alarm, state: 'acknowledged' as const, acknowledgedBy: by };
    });
    const setAside = [
      ...told.setAside,
      ...alarms.flatMap((alarm): AsideAlarm[] => {
        const aside = this.#shelf.get(alarm.verdict.id);
        return aside ? [{ ...alarm, state: 'shelved', aside }] : [];
      }),
    ];
    const listed = alarms.filter(({ verdict }) => !this.#shelf.has(verdict.id));
    return JSON.stringify({
      type: 'picture',
      picture: { ...told, alarms: listed, setAside },
      ...(this.replay ? { replay: this.replay } : {}),
      feed: {
        ...heard,
        journal: {
          ...heard.journal,
          ...(this.diskFails ? { state: 'failed' as const, why: 'database or disk is full' } : {}),
          entries: { session: this.session, taken: this.unwritten, written: this.diskFails ? 0 : this.unwritten },
        },
      },
    } satisfies LiveMessage);
  }

  #answer(request: IncomingMessage, response: ServerResponse): void {
    const url = new URL(request.url ?? '/', 'http://localhost');
    if (this.failing?.test(url.pathname)) return void request.destroy();
    if (url.pathname === '/api/access') return this.#access(request, response);
    if (this.role === null && url.pathname.startsWith('/api/'))
      return json(response, 401, { error: { code: 'access/sign-in', words: 'Sign in first.', field: null } });
    if (url.pathname === '/api/entries') return this.#enter(request, response);
    if (url.pathname === '/api/review/truth') return json(response, 200, []);
    if (url.pathname === '/api/series') {
      const { searchParams: asked } = url;
      return json(
        response,
        200,
        series(this.layout, this.condition, asked.get('channel')!, Number(asked.get('from')), Number(asked.get('to'))),
      );
    }
    try {
      const path = url.pathname === '/' ? '/index.html' : url.pathname;
      const built = readFileSync(join(this.#folder, path));
      response.writeHead(200, {
        ...SECURITY_HEADERS,
        'content-type': TYPES[extname(path)] ?? 'application/octet-stream',
        'cache-control': cacheRule(path),
      });
      response.end(this.screenId !== null && /\.(html|json)$|worker\.js$/.test(path) ? this.#renamed(built) : built);
    } catch {
      json(response, 404, { error: { code: 'request/not-found', words: 'There is nothing here.', field: null } });
    }
  }

  #renamed(built: Buffer): string {
    const { id } = JSON.parse(readFileSync(join(this.#folder, 'screen.json'), 'utf8')) as { id: string };
    return built.toString().replaceAll(id, this.screenId!);
  }

  #access(request: IncomingMessage, response: ServerResponse): void {
    if (request.method === 'POST' || (request.method === 'DELETE' && this.role !== 'not-asked'))
      this.role = request.method === 'POST' ? 'work' : null;
    const answer: AccessAnswer =
      this.role === 'not-asked' ? { asked: false, role: null } : { asked: true, role: this.role };
    json(response, 200, answer);
  }

  #enter(request: IncomingMessage, response: ServerResponse): void {
    let text = '';
    request.on('data', (part: Buffer) => (text += part.toString()));
    request.on('end', () => {
      const entry = JSON.parse(text) as Entry;
      this.entries.push(entry);
      if (entry.kind === 'acknowledge') this.#acknowledged.set(entry.alarm, entry.by);
      if (entry.kind === 'shelve')
        this.#shelf.set(entry.alarm, { by: entry.by, why: entry.why, untilMs: Date.now() + entry.minutes * 60_000 });
      if (entry.kind === 'unshelve') this.#shelf.delete(entry.alarm);
      const missing = entry.kind === 'baseline' ? this.layout.heads.length - entry.headsSeenTurning.length : 0;
      if (this.diskFails) {
        this.unwritten += 1;
        const waits = { session: this.session, number: this.unwritten };
        return json(response, 202, { ok: true, words: 'Taken for now, but not on disk yet.', waits });
      }
      if (missing === 0) return json(response, 200, { ok: true });
      const words = `Noted what was seen. No baseline yet: ${missing} heads not ticked.`;
      return json(response, 422, { error: { code: 'entry/refused', words, field: null } });
    });
  }
}

/** The same as if it were made now. */
function asOf(made: Picture, atMs: number): Picture {
  const laterMs = atMs - made.atMs;
  const channels = made.channels.map((one) => ({ ...one, atMs: one.atMs === null ? null : one.atMs + laterMs }));
  return { ...made, atMs, channels };
}

function json(response: ServerResponse, status: number, body: unknown): void {
  response.writeHead(status, { 'content-type': 'application/json' }).end(JSON.stringify(body));
}
