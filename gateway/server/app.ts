/**
 * The gateway's web server, built without listening: the screen's files, the site, the picture, charts, entries,
 * `/live`.
 *
 * In: what it needs of the run, as functions. Out: a fastify app. It answers from memory and from the journal; the only
 * thing a request can change is what a person enters.
 */
import staticFiles from '@fastify/static';
import websocket from '@fastify/websocket';
import fastify, { type FastifyError, type FastifyInstance, type FastifyReply } from 'fastify';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import type { Layout } from '../../config/layout/layout.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { ReplayState } from '../../config/wire/replay.ts';
import type { Role } from '../../config/wire/access.ts';
import { ENTRY_SCHEMA, type Entry, type EntryAnswer } from '../../config/wire/entry.ts';
import type { LiveMessage, Series } from '../../config/wire/live.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { addLock, roleOf, type Lock } from './access-routes.ts';
import { errorBody, refuse } from './errors.ts';
import { cacheRule, isOwnFetch, isOwnHost, isOwnOrigin, SECURITY_HEADERS } from './headers.ts';
import { LiveFeed } from './live.ts';
import { timeOf } from './query.ts';
import { addReview, type ReviewParts } from './review-routes.ts';
import { webListener, type TlsFiles } from './web-listener.ts';

export interface ServerParts {
  readonly layout: Layout;
  readonly build: string;
  readonly run: () => { readonly name: string; readonly startedMs: number };
  readonly latest: () => {
    readonly picture: Picture;
    readonly feed: FeedPicture;
    readonly replay?: ReplayState;
  } | null;
  readonly series: (channel: string, fromMs: number, toMs: number) => Series | null;
  /** Words: it was not taken. Null: it was, and nothing is to be added. */
  readonly enter: (entry: Entry, role: Role | null) => string | EntryAnswer | null;
  /** Folder of the built screen. */
  readonly screen: string;
  readonly loopbackOnly: boolean;
  /** Null: everything is open. The start refuses that beyond this machine. */
  readonly door: Lock['door'];
  readonly told: Lock['told'];
  /** Null: plain HTTP. */
  readonly tls: TlsFiles | null;
  /** Left out: there is no record to look back on. */
  readonly review?: ReviewParts;
}

export interface Server {
  readonly app: FastifyInstance;
  readonly live: LiveFeed;
}

const BODY_MAX = 65_536;
/** Screens say nothing on the socket. */
const MESSAGE_MAX = 1_024;

export async function buildServer(parts: ServerParts): Promise<Server> {
  const app = fastify({
    bodyLimit: BODY_MAX,
    forceCloseConnections: true,
    serverFactory: (handler) => webListener(parts.tls, handler),
    ajv: {
      customOptions: {
        removeAdditional: false,
        coerceTypes: false,
        useDefaults: false,
        allErrors: false,
        discriminator: true,
      },
    },
  });
  const live = new LiveFeed();
  const lock = { door: parts.door, secure: parts.tls !== null, told: parts.told };
  app.removeContentTypeParser('text/plain');
  // Before any other hook: it closes the connection of a WebSocket that a later hook turns away.
  await app.register(websocket, { options: { maxPayload: MESSAGE_MAX, perMessageDeflate: false } });
  app.addHook('onRequest', async (request, reply) => {
    for (const [name, value] of Object.entries(SECURITY_HEADERS)) void reply.header(name, value);
    const { host, origin } = request.headers;
    const own = isOwnHost(host, parts.loopbackOnly) && isOwnOrigin(origin, host) && isOwnFetch(request.headers);
    return own ? undefined : refuse(reply, 'request/foreign-origin');
  });
  addLock(app, lock);
  app.addHook('onClose', async () => live.close());
  app.setErrorHandler((error: FastifyError, _request, reply) => answerError(error, reply));
  addReads(app, parts);
  addEntries(app, parts, lock);
  if (parts.review) addReview(app, parts.review, lock);
  app.get('/live', { websocket: true }, (socket, request) => {
    const latest = parts.latest();
    const allowed = (): boolean => lock.door === null || roleOf(request, lock) !== null;
    live.join(socket, allowed, [siteMessage(parts), ...(latest ? [{ type: 'picture' as const, ...latest }] : [])]);
  });
  await addScreen(app, parts.screen);
  return { app, live };
}

function siteMessage(parts: ServerParts): LiveMessage {
  const { name, startedMs } = parts.run();
  return { type: 'site', layout: parts.layout, run: name, build: parts.build, startedMs };
}

function addReads(app: FastifyInstance, parts: ServerParts): void {
  app.addHook('onSend', async (request, reply) => {
    if (request.routeOptions.url?.startsWith('/api/')) void reply.header('cache-control', 'no-store');
  });
  app.get('/api/site', async () => siteMessage(parts));
  app.get('/api/picture', async (_request, reply) => parts.latest() ?? refuse(reply, 'site/no-picture'));
  app.get<{ Querystring: Record<string, unknown> }>('/api/series', async (request, reply) => {
    const { channel } = request.query;
    const fromMs = timeOf(request.query['from']);
    const toMs = timeOf(request.query['to']);
    if (typeof channel !== 'string' || fromMs === null || toMs === null || fromMs >= toMs)
      return refuse(reply, 'request/bad-window');
    return parts.series(channel, fromMs, toMs) ?? refuse(reply, 'site/unknown-channel');
  });
}

function addEntries(app: FastifyInstance, parts: ServerParts, lock: Lock): void {
  app.post<{ Body: Entry }>('/api/entries', { schema: { body: ENTRY_SCHEMA } }, async (request, reply) => {
    const answer = parts.enter(request.body, roleOf(request, lock)) ?? { ok: true };
    if (typeof answer === 'string') return refuse(reply, 'entry/refused', answer);
    // Taken, and not yet safe: 202 is for a request whose processing has not been completed (RFC 9110, 15.3.3).
    return reply.status(answer.waits ? 202 : 200).send(answer);
  });
}

async function addScreen(app: FastifyInstance, folder: string): Promise<void> {
  if (existsSync(join(folder, 'index.html'))) {
    await app.register(staticFiles, {
      root: folder,
      cacheControl: false,
      setHeaders: (reply, path) => void reply.header('cache-control', cacheRule(path)),
    });
  } else {
    app.get('/', async (_request, reply) => refuse(reply, 'screen/not-built'));
  }
  app.setNotFoundHandler((_request, reply) => refuse(reply, 'request/not-found'));
}

function answerError(error: FastifyError, reply: FastifyReply): FastifyReply {
  const [fault] = error.validation ?? [];
  if (fault) {
    const named: unknown = fault.params['missingProperty'] ?? fault.params['additionalProperty'] ?? fault.params['tag'];
    const path = fault.instancePath.slice(1).replaceAll('/', '.');
    const field = [path, typeof named === 'string' ? named : ''].filter((part) => part !== '').join('.');
    return refuse(
      reply,
      'entry/invalid',
      `This entry cannot be read: ${field === '' ? '' : `${field} `}${fault.message ?? 'is not right'}.`,
      field === '' ? null : field,
    );
  }
  const status = error.statusCode ?? 500;
  return status < 500
    ? reply.status(status).send(errorBody('request/not-read', error.message))
    : refuse(reply, 'server/failed');
}
