/**
 * The listener under the web server, with or without TLS, and how long it bears with slow or many clients.
 *
 * In: certificate and key (PEM; null: plain HTTP) and the handler. Out: a Node server that does not listen yet. Header
 * and body must be here within seconds, so that a client that dribbles does not hold a place; beyond the number of
 * places, for one address and for all, new connections are dropped. Judgement: a site has a handful of screens, of
 * which many may stand behind one radio's address.
 */
import { createServer, type RequestListener, type Server } from 'node:http';
import { createServer as createTlsServer } from 'node:https';
import type { Socket } from 'node:net';

export interface TlsFiles {
  readonly cert: Buffer;
  readonly key: Buffer;
}

const CONNECTIONS_MAX = 600;
const CONNECTIONS_AN_ADDRESS = 150;
const PATIENCE = {
  headersTimeout: 8_000,
  requestTimeout: 15_000,
  keepAliveTimeout: 10_000,
  connectionsCheckingInterval: 2_000,
  maxHeaderSize: 16_384,
} as const;

export function webListener(tls: TlsFiles | null, handler: RequestListener): Server {
  const server: Server =
    tls === null
      ? createServer(PATIENCE, handler)
      : createTlsServer({ ...PATIENCE, ...tls, minVersion: 'TLSv1.2', handshakeTimeout: 8_000 }, handler);
  const places = new Map<string, number>();
  server.on('connection', (socket: Socket) => {
    const address = socket.remoteAddress ?? '';
    const held = (places.get(address) ?? 0) + 1;
    places.set(address, held);
    socket.once('close', () => {
      const left = (places.get(address) ?? 1) - 1;
      if (left > 0) places.set(address, left);
      else places.delete(address);
    });
    if (held > CONNECTIONS_AN_ADDRESS) socket.destroy();
  });
  server.maxConnections = CONNECTIONS_MAX;
  server.maxRequestsPerSocket = 1_000;
  return server;
}
