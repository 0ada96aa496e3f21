/**
 * The listener under the web server, with or without TLS, and how long it bears with slow or many clients.
 *
 * In: certificate and key (PEM; null: plain HTTP) and the handler. Out: a Node server that does not listen yet. Header and
 * body must be here within seconds, so that a client that dribbles does not hold a place; beyond the number of places new
 * connections are dropped. Judgement: a site has a handful of screens.
 */
import { createServer, type RequestListener, type Server } from 'node:http';
import { createServer as createTlsServer } from 'node:https';

export interface TlsFiles {
  readonly cert: Buffer;
  readonly key: Buffer;
}

const CONNECTIONS_MAX = 300;
const PATIENCE = { headersTimeout: 8_000, requestTimeout: 15_000, keepAliveTimeout: 10_000, connectionsCheckingInterval: 2_000, maxHeaderSize: 16_384 } as const;

export function webListener(tls: TlsFiles | null, handler: RequestListener): Server {
  const server: Server = tls === null ? createServer(PATIENCE, handler) : createTlsServer({ ...PATIENCE, ...tls, minVersion: 'TLSv1.2', handshakeTimeout: 8_000 }, handler);
  server.maxConnections = CONNECTIONS_MAX;
  server.maxRequestsPerSocket = 1_000;
  return server;
}
