/**
 * Where clients of the broker inside come in: the port asked for and, with TLS, a plain one on loopback for the
 * simulator.
 *
 * In: address, port, certificate. Out: each connection as a guarded stream with its address; the address for clients on
 * this machine. A connection too many, or one whose packet is too large to be carried, is cut off.
 */
import { createServer, type Server, type Socket } from 'node:net';
import { Duplex } from 'node:stream';
import { createServer as createTlsServer } from 'node:tls';
import { PACKET_BYTES_MAX } from '../payloads/senml.ts';
import { PacketGuard } from './packet-guard.ts';

export interface Certificate {
  readonly cert: Buffer;
  readonly key: Buffer;
}

export interface Door {
  /** How many may come from one address. */
  readonly connectionsAnAddress: number;
  readonly take: (stream: Duplex, address: string) => void;
}

export interface Listeners {
  readonly url: string;
  /** The port that was opened on the address asked for. */
  readonly port: number;
  /** Cuts every client off. */
  readonly cutAll: () => void;
  /** Lets nobody in any more; who is in stays. */
  readonly stop: () => void;
}

/** Judgement: a site has tens of devices. */
const CONNECTIONS_MAX = 500;
/** Room for topic and properties around the largest payload. */
const PACKET_MAX = PACKET_BYTES_MAX + 4_096;

/** Fails when the port cannot be opened. */
export async function openListeners(
  host: string,
  port: number,
  tls: Certificate | null,
  door: Door,
): Promise<Listeners> {
  const sockets = new Set<Socket>();
  const serve = (socket: Socket): void => letIn(socket, sockets, door);
  const server =
    tls === null
      ? createServer(serve)
      : createTlsServer({ ...tls, minVersion: 'TLSv1.2', handshakeTimeout: 10_000 }, serve);
  const inner = tls === null ? null : createServer(serve);
  server.on('tlsClientError', (_error, socket: Socket) => socket.destroy());
  for (const each of [server, inner]) if (each) each.maxConnections = CONNECTIONS_MAX;
  try {
    await listen(server, host, port);
    if (inner) await listen(inner, '127.0.0.1', 0);
  } catch (error) {
    server.close();
    throw error;
  }
  const innerHost = inner || host === '0.0.0.0' || host === '::' ? '127.0.0.1' : host;
  return {
    url: `mqtt://${innerHost}:${portOf(inner ?? server)}`,
    port: portOf(server),
    cutAll: () => sockets.forEach((socket) => socket.destroy()),
    stop: () => {
      server.close();
      inner?.close();
    },
  };
}

function letIn(socket: Socket, sockets: Set<Socket>, { connectionsAnAddress, take }: Door): void {
  const neighbours = [...sockets].filter(({ remoteAddress }) => remoteAddress === socket.remoteAddress);
  if (neighbours.length >= connectionsAnAddress) {
    socket.destroy();
    return;
  }
  sockets.add(socket);
  socket.setNoDelay(true);
  socket.on('error', () => socket.destroy());
  socket.on('close', () => sockets.delete(socket));
  const guard = new PacketGuard(PACKET_MAX);
  guard.on('error', () => socket.destroy());
  const stream = Duplex.from({ readable: socket.pipe(guard), writable: socket });
  stream.on('error', () => socket.destroy());
  take(stream, socket.remoteAddress ?? '');
}

function portOf(server: Server): number {
  const address = server.address();
  return typeof address === 'object' && address ? address.port : 0;
}

function listen(server: Server, host: string, port: number): Promise<void> {
  return new Promise((done, failed) => {
    server.once('error', failed);
    server.listen(port, host, () => {
      server.removeListener('error', failed);
      done();
    });
  });
}
