/**
 * The broker inside the gateway, for a demonstration or a small site without one of its own (MQTT 3.1.1, in memory).
 *
 * In: address and port to listen on. Out: the address clients use, and each packet of the topics that the gateway
 * hears: it is handed over inside the process, and its device gets its acknowledgement when the gateway says so.
 * Guards: packet size, connection count, topics of the house only, clean sessions only (queues of absent clients grow
 * without bound), slow readers are cut off. With a gate, passwords and the rights of each account to its topics. With
 * TLS, clients of the network come over TLS; the bundled simulator comes by a second, plain listener on loopback,
 * because a certificate names the machine, not loopback.
 */
import { Aedes, type AuthenticateError, type Client, type PublishPacket } from 'aedes';
import { createServer, type Server, type Socket } from 'node:net';
import { Duplex } from 'node:stream';
import { createServer as createTlsServer } from 'node:tls';
import type { SourcePacket } from './mqtt-source.ts';
import { PacketGuard } from './packet-guard.ts';
import { PublishPace } from './publish-pace.ts';
import { PACKET_BYTES_MAX } from './senml.ts';

export interface EmbeddedBroker {
  /** For clients on this machine, without account. */
  readonly url: string;
  /** The port that was opened on the address asked for. */
  readonly port: number;
  /** From here on packets of these topics are handed over; the broker's clients wait for each to be acknowledged. */
  readonly hear: (filters: readonly string[], take: (packet: SourcePacket) => void) => void;
  /** Cuts every device off, so that it sends again what was not acknowledged. */
  readonly again: () => void;
  readonly close: () => Promise<void>;
}

/** Who is who, and who may what. */
export interface BrokerGate {
  /** The account's name, or null. */
  readonly authenticate: (
    user: string | undefined,
    password: Uint8Array | undefined,
    address: string,
  ) => Promise<string | null>;
  readonly mayPublish: (account: string, topic: string) => boolean;
  readonly maySubscribe: (account: string, filter: string) => boolean;
  /** Whether it is held to the pace of a device. */
  readonly isPaced: (account: string) => boolean;
}

export interface BrokerGuards {
  /** Null: everybody may everything below wetdown/. */
  readonly gate: BrokerGate | null;
  readonly tls: { readonly cert: Buffer; readonly key: Buffer } | null;
  /** Topics outside wetdown/ that are carried too; left out: none. */
  readonly foreign?: (topic: string) => boolean;
}

/** Judgement: a site has tens of devices. */
const CONNECTIONS_MAX = 500;
/** Where there are passwords, and so strangers. Judgement: many devices may stand behind one radio's address. */
const CONNECTIONS_AN_ADDRESS = 150;
/** Judgement: hours of a device; what sends more waits until something is on disk. */
const HELD_MAX = 10_000;
/** Room for topic and properties around the largest payload. */
const PACKET_MAX = PACKET_BYTES_MAX + 4_096;

export async function openEmbeddedBroker(
  host: string,
  port: number,
  { gate, tls, foreign = () => false }: BrokerGuards = { gate: null, tls: null },
): Promise<EmbeddedBroker> {
  const seats = new Seats(gate);
  let ear: Ear | null = null;
  const broker = await Aedes.createBroker({
    connectTimeout: 10_000,
    drainTimeout: 20_000,
    keepaliveLimit: 120,
    maxClientsIdLength: 64,
    maxTopicLevels: 8,
    authenticate: (client, user, password, done) => {
      if (!client.clean) done(refused('only clean sessions are kept here', 3), false);
      else
        void seats
          .take(client, user, password)
          .then((taken) => (taken ? done(null, true) : done(refused('wrong user name or password', 4), false)));
    },
    authorizePublish: (client, packet, done) => {
      const fault = publishFault(client, packet, foreign) ?? seats.publishFault(client, packet.topic);
      if (fault) {
        done(fault);
        return;
      }
      const handOver = (): void => {
        if (ear === null || !hears(ear, packet.topic)) done(null);
        else seats.hold(client, packet, ear.take, () => done(null));
      };
      const waitMs = seats.waitMs(client);
      if (waitMs > 0) setTimeout(handOver, waitMs);
      else handOver();
    },
    authorizeSubscribe: (client, subscription, done) =>
      done(null, seats.maySubscribe(client, subscription.topic) ? subscription : null),
  });
  broker.on('clientDisconnect', (client) => seats.leave(client));
  broker.on('clientError', (client) => client.close());
  const sockets = new Set<Socket>();
  const serve = (socket: Socket): void => {
    if (
      gate &&
      [...sockets].filter(({ remoteAddress }) => remoteAddress === socket.remoteAddress).length >=
        CONNECTIONS_AN_ADDRESS
    ) {
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
    seats.from(broker.handle(stream), socket.remoteAddress ?? '');
  };
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
    broker.close();
    throw error;
  }
  const innerHost = inner || host === '0.0.0.0' || host === '::' ? '127.0.0.1' : host;
  return {
    url: `mqtt://${innerHost}:${portOf(inner ?? server)}`,
    port: portOf(server),
    hear: (filters, take) => (ear = { filters: filters.map((filter) => filter.split('/')), take }),
    again: () => sockets.forEach((socket) => socket.destroy()),
    close: () =>
      new Promise((closed) => {
        server.close();
        inner?.close();
        broker.close(() => {
          for (const socket of sockets) socket.destroy();
          closed();
        });
      }),
  };
}

interface Ear {
  readonly filters: readonly (readonly string[])[];
  readonly take: (packet: SourcePacket) => void;
}

function hears({ filters }: Ear, topic: string): boolean {
  const levels = topic.split('/');
  return filters.some((filter) => matches(filter, levels));
}

/** MQTT 3.1.1 section 4.7.1. */
function matches(filter: readonly string[], levels: readonly string[]): boolean {
  if (filter.at(-1) === '#')
    return levels.length >= filter.length - 1 && matches(filter.slice(0, -1), levels.slice(0, filter.length - 1));
  return filter.length === levels.length && filter.every((level, index) => level === '+' || level === levels[index]);
}

/** The library's own way to make a client go on reading, which its types leave out. */
interface Reading extends Client {
  resume(): void;
}

/**
 * Which account each connected client has, and what it waits for. One that holds a client name keeps it against other
 * accounts.
 */
class Seats {
  readonly #gate: BrokerGate | null;
  readonly #accounts = new WeakMap<Client, string>();
  readonly #addresses = new WeakMap<Client, string>();
  readonly #holders = new Map<string, Client>();
  /** By account, so that a device gains nothing from many connections. */
  readonly #paces = new Map<string, PublishPace>();
  /** How many of a client's packets are not acknowledged. */
  readonly #held = new WeakMap<Client, number>();

  constructor(gate: BrokerGate | null) {
    this.#gate = gate;
  }

  from(client: Client, address: string): void {
    this.#addresses.set(client, address);
  }

  async take(client: Client, user: string | undefined, password: Uint8Array | undefined): Promise<boolean> {
    if (!this.#gate) return true;
    const account = await this.#gate.authenticate(user, password, this.#addresses.get(client) ?? '');
    const holder = this.#holders.get(client.id);
    const held = holder !== undefined && !holder.closed && this.#accounts.get(holder) !== account;
    if (account === null || held || client.closed) return false;
    this.#accounts.set(client, account);
    this.#holders.set(client.id, client);
    return true;
  }

  leave(client: Client): void {
    if (this.#holders.get(client.id) === client) this.#holders.delete(client.id);
  }

  publishFault(client: Client | null, topic: string): Error | null {
    if (!client || !this.#gate) return null;
    return this.#gate.mayPublish(this.#accounts.get(client) ?? '', topic)
      ? null
      : new Error('this account may not publish there');
  }

  waitMs(client: Client | null): number {
    const account = client && this.#accounts.get(client);
    if (!account || !this.#gate?.isPaced(account)) return 0;
    const pace = this.#paces.get(account) ?? new PublishPace();
    this.#paces.set(account, pace);
    return pace.waitMs(performance.now());
  }

  /**
   * Hands a packet over. The library acknowledges it, and hands it to other clients, when it is `done`; without more,
   * it would read nothing of its sender before. So a device is heard on while its packets wait for a disk, as far as
   * its own window reaches.
   */
  hold(client: Client | null, packet: PublishPacket, take: Ear['take'], done: () => void): void {
    const { topic, qos, dup: again, messageId } = packet;
    const payload = Buffer.from(packet.payload);
    if (qos === 0 || client === null) {
      take({ topic, payload, retained: false });
      done();
      return;
    }
    const held = (this.#held.get(client) ?? 0) + 1;
    this.#held.set(client, held);
    take({
      topic,
      payload,
      retained: false,
      again,
      ...(messageId === undefined ? {} : { messageId }),
      acknowledge: () => {
        this.#held.set(client, (this.#held.get(client) ?? 1) - 1);
        done();
      },
    });
    if (held < HELD_MAX) setImmediate(() => client.closed || (client as Reading).resume());
  }

  maySubscribe(client: Client, filter: string): boolean {
    return !this.#gate || this.#gate.maySubscribe(this.#accounts.get(client) ?? '', filter);
  }
}

/**
 * Return codes of MQTT 3.1.1 section 3.2.2.3: 3 is 'the service is not there for you', 4 'bad user name or password'.
 */
function refused(why: string, returnCode: 3 | 4): AuthenticateError {
  return Object.assign(new Error(why), { returnCode });
}

function portOf(server: Server): number {
  const address = server.address();
  return typeof address === 'object' && address ? address.port : 0;
}

function publishFault(client: Client | null, packet: PublishPacket, foreign: (topic: string) => boolean): Error | null {
  if (!client) return null;
  if (!packet.topic.startsWith('wetdown/') && !foreign(packet.topic))
    return new Error('only topics below wetdown/ and those that the site file maps are carried');
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
