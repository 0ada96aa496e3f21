/**
 * Stands in for the gateway while the screen is worked on: serves `.build/ui` under the strict content policy, plays
 * fixture pictures once a second, answers series and entries.
 *
 * `npx tsx tests/ui/fake-gateway.ts [port] [condition]`; `POST /condition/NAME` changes it; `/condition/quiet` stops talking.
 */
import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { extname, join } from 'node:path';
import { WebSocketServer } from 'ws';
import { parseLayout } from '../../config/layout-parser.ts';
import type { Entry, LiveMessage } from '../../config/wire.ts';
import { SECURITY_HEADERS } from '../../gateway/server/headers.ts';
import { CONDITIONS, feed, picture, series, type Condition } from './fixture.ts';

const TYPES: Record<string, string> = { '.html': 'text/html', '.js': 'text/javascript', '.css': 'text/css', '.svg': 'image/svg+xml' };
const room = join(import.meta.dirname, '../../.build/ui');
const file = join(import.meta.dirname, `../../config/sites/${process.argv[4] ?? 'larch-cove'}.yaml`);
const parsed = parseLayout(readFileSync(file, 'utf8'), file);
if (!parsed.ok) throw new Error(JSON.stringify(parsed.faults));
const { layout } = parsed;
let condition: Condition | 'quiet' = (process.argv[3] as Condition | undefined) ?? 'healthy';
let build = 'b1';
const acknowledged = new Map<string, string>();

const now = (): Condition => (condition === 'quiet' ? 'healthy' : condition);
const siteMessage = (): string => JSON.stringify({ type: 'site', layout, run: 'fixture', build, startedMs: Date.now() - 6e6 } satisfies LiveMessage);

const server = createServer((request, response) => {
  const url = new URL(request.url ?? '/', 'http://localhost');
  const answer = (status: number, body: unknown): void => void response.writeHead(status, { 'content-type': 'application/json' }).end(JSON.stringify(body));
  if (url.pathname.startsWith('/condition/')) {
    const name = url.pathname.split('/')[2]!;
    if (name === 'build') build = `b${Date.now()}`;
    else if (name === 'quiet' || (CONDITIONS as readonly string[]).includes(name)) condition = name as Condition;
    return answer(200, { condition });
  }
  if (url.pathname === '/api/series') {
    const { searchParams: query } = url;
    return answer(200, series(layout, now(), query.get('channel')!, Number(query.get('from')), Number(query.get('to'))));
  }
  if (url.pathname === '/api/entries') {
    let text = '';
    request.on('data', (part) => (text += part));
    request.on('end', () => {
      const entry = JSON.parse(text) as Entry;
      if (entry.kind === 'acknowledge') acknowledged.set(entry.alarm, entry.by);
      if (entry.kind === 'baseline' && entry.headsSeenTurning.length < layout.heads.length) return answer(422, { error: { code: 'entry/refused', words: 'Noted what was seen. No baseline yet: some heads are not ticked.', field: null } });
      answer(200, { ok: true });
    });
    return;
  }
  try {
    const path = url.pathname === '/' ? '/index.html' : url.pathname;
    const body = readFileSync(join(room, path));
    response.writeHead(200, { 'content-type': TYPES[extname(path)] ?? 'application/octet-stream', ...SECURITY_HEADERS }).end(body);
  } catch {
    response.writeHead(404).end();
  }
});

const sockets = new WebSocketServer({ server, path: '/live' });
const pictureMessage = (): string => {
  const atMs = Math.floor(Date.now() / 1_000) * 1_000;
  const shown = picture(layout, now(), atMs, process.argv[5] !== 'real');
  const alarms = shown.alarms.map((alarm) => (acknowledged.has(alarm.verdict.id) ? { ...alarm, state: 'acknowledged' as const, acknowledgedBy: acknowledged.get(alarm.verdict.id)! } : alarm));
  return JSON.stringify({ type: 'picture', picture: { ...shown, alarms }, feed: feed(layout, atMs) } satisfies LiveMessage);
};
sockets.on('connection', (socket) => {
  socket.send(siteMessage());
  if (condition !== 'quiet') socket.send(pictureMessage());
});
setInterval(() => {
  if (condition !== 'quiet') for (const socket of sockets.clients) socket.send(pictureMessage());
}, 1_000);
server.listen(Number(process.argv[2] ?? 4990), '127.0.0.1', () => console.log('fake gateway on', server.address()));
