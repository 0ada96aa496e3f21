/**
 * The broker inside the gateway, for a demonstration or a small site without one of its own (MQTT 3.1.1, in memory).
 *
 * In: address and port to listen on. Out: the address clients use. Guards: packet size, connection count, topics of the
 * house only, clean sessions only (queues of absent clients grow without bound), slow readers are cut off. Limit: no passwords and no encryption; a site whose network is not its own needs a real broker.
 */
import { Aedes, type AuthenticateError, type Client, type PublishPacket } from 'aedes';
import { createServer, type Server, type Socket } from 'node:net';
import { Duplex } from 'node:stream';
import { PacketGuard } from './packet-guard.ts';
import { PACKET_BYTES_MAX } from './senml.ts';

export interface EmbeddedBroker {
  readonly url: string;
  readonly close: () => Promise<void>;
}

/** Judgement: a site has tens of devices. */
const CONNECTIONS_MAX = 500;
/** Room for topic and properties around the largest payload. */
const PACKET_MAX = PACKET_BYTES_MAX + 4_096;

export async function openEmbeddedBroker(host: string, port: number): Promise<EmbeddedBroker> {
  const broker = await Aedes.createBroker({
    connectTimeout: 10_000,
    drainTimeout: 20_000,
    keepaliveLimit: 120,
    maxClientsIdLength: 64,
    maxTopicLevels: 8,
    authenticate: (client, _user, _password, done) => (client.clean ? done(null, true) : done(noSessions(), false)),
    authorizePublish: (client, packet, done) => done(publishFault(client, packet)),
  });
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket);
    socket.setNoDelay(true);
    socket.on('error', () => socket.destroy());
    socket.on('close', () => sockets.delete(socket));
    const guard = new PacketGuard(PACKET_MAX);
    guard.on('error', () => socket.destroy());
    const stream = Duplex.from({ readable: socket.pipe(guard), writable: socket });
    stream.on('error', () => socket.destroy());
    broker.handle(stream);
  });
  server.maxConnections = CONNECTIONS_MAX;
  broker.on('clientError', (client) => client.close());
  try {
    await listen(server, host, port);
  } catch (error) {
    broker.close();
    throw error;
  }
  const address = server.address();
  const boundPort = typeof address === 'object' && address ? address.port : port;
  return {
    url: `mqtt://${host === '0.0.0.0' || host === '::' ? '127.0.0.1' : host}:${boundPort}`,
    close: () =>
      new Promise((closed) => {
        server.close();
        broker.close(() => {
          for (const socket of sockets) socket.destroy();
          closed();
        });
      }),
  };
}

/** MQTT 3.1.1 section 3.2.2.3: 3 is 'the service is not there for you'. */
function noSessions(): AuthenticateError {
  return Object.assign(new Error('only clean sessions are kept here'), { returnCode: 3 });
}

function publishFault(client: Client | null, packet: PublishPacket): Error | null {
  if (!client) return null;
  if (!packet.topic.startsWith('wetdown/')) return new Error('only topics below wetdown/ are carried');
  return packet.payload.length > PACKET_BYTES_MAX ? new Error('payload too large') : null;
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
