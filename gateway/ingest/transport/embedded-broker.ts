/**
 * The broker inside the gateway, for a demonstration or a small site (MQTT 3.1.1, in memory).
 *
 * In: address and port. Out: the address for clients, and every packet that the gateway hears, handed over inside the
 * process; its sender gets the acknowledgement when the gateway says so. What is refused by topic, sender or size is
 * handed over as refused and acknowledged (section 3.3.5), else its device would send it first for ever. Who speaks
 * for another is then cut off. Guards: packet size, connections, clean sessions only, slow readers cut off; with a
 * gate, passwords and topics. With TLS the simulator comes by a plain listener on loopback. Limit: a topic of more
 * than a hundred levels, or with a wildcard in it, cuts its sender off unheard.
 */
import { Aedes, type AuthenticateError, type Client, type PublishPacket } from 'aedes';
import { createServer, type Server, type Socket } from 'node:net';
import { Duplex } from 'node:stream';
import { createServer as createTlsServer } from 'node:tls';
import { matchesTopic } from '../../../config/mapping/topic-filter.ts';
import type { SourcePacket } from './mqtt-source.ts';
import { cutShort, PacketGuard } from './packet-guard.ts';
import { PublishPace } from './publish-pace.ts';
import { refusal } from '../refusal.ts';
import { PACKET_BYTES_MAX } from '../payloads/senml.ts';

export interface EmbeddedBroker {
  /** For clients on this machine, without account. */
  readonly url: string;
  /** The port that was opened on the address asked for. */
  readonly port: number;
  /**
   * From here on packets of these topics are handed over; the broker's clients wait for each to be acknowledged.
   * `stray` takes what is published on any other topic; left out: nobody is told of it.
   */
  readonly hear: (
    filters: readonly string[],
    take: (packet: SourcePacket) => void,
    stray?: (packet: SourcePacket) => void,
  ) => void;
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
  /** Whether these are the name and the password of the simulator that this gateway starts; left out: nobody's. */
  readonly isSimulator?: (user: string | undefined, password: Uint8Array | undefined) => boolean;
}

/** Judgement: a site has tens of devices. */
const CONNECTIONS_MAX = 500;
/** As many as the library can hold. */
const TOPIC_LEVELS_MAX = 100;
/** Where there are passwords, and so strangers. Judgement: many devices may stand behind one radio's address. */
const CONNECTIONS_AN_ADDRESS = 150;
/** Judgement: hours of a device; what sends more waits until something is on disk. */
const HELD_MAX = 10_000;
/** Room for topic and properties around the largest payload. */
const PACKET_MAX = PACKET_BYTES_MAX + 4_096;
/** Where nobody listens. */
const NOWHERE = '$wetdown/refused';
/** Judgement: time for what was written last to arrive. */
const PARTING_MS = 1_000;

export async function openEmbeddedBroker(
  host: string,
  port: number,
  { gate, tls, foreign = () => false, isSimulator = () => false }: BrokerGuards = { gate: null, tls: null },
): Promise<EmbeddedBroker> {
  const seats = new Seats(gate, isSimulator);
  let ear: Ear = NOBODY;
  const broker = await Aedes.createBroker({
    connectTimeout: 10_000,
    drainTimeout: 20_000,
    keepaliveLimit: 120,
    maxClientsIdLength: 64,
    maxTopicLevels: TOPIC_LEVELS_MAX,
    authenticate: (client, user, password, done) => {
      if (!client.clean) done(refused('only clean sessions are kept here', 3), false);
      else
        void seats
          .take(client, user, password)
          .then((taken) => (taken ? done(null, true) : done(refused('wrong user name or password', 4), false)));
    },
    authorizePublish: (client, packet, done) => {
      const handOver = (): void => {
        if (client === null) done(null);
        else handTo(ear, seats, client, packet, foreign, () => done(null));
      };
      const waitMs = seats.waitMs(client, packet.payload.length);
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
    hear: (filters, take, stray = NOBODY.stray) => (ear = { filters, take, stray }),
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

/** Takes a packet, or has it refused in sight of people; `done` when it may be acknowledged. */
function handTo(
  ear: Ear,
  seats: Seats,
  client: Client,
  packet: PublishPacket,
  foreign: (topic: string) => boolean,
  done: () => void,
): void {
  const { topic, qos, dup: again, messageId } = packet;
  const whole = Buffer.from(packet.payload);
  const cut = cutShort(whole);
  const bytes = cut?.bytes ?? whole.length;
  const isOutside = !topic.startsWith('wetdown/') && !foreign(topic);
  const isForbidden = !isOutside && !seats.mayPublish(client, topic);
  const refused = isForbidden
    ? refusal('ingest/not-allowed', `'${seats.accountOf(client) ?? ''}' may not publish there`)
    : bytes > PACKET_BYTES_MAX
      ? refusal('ingest/too-large', `${bytes} bytes, at most ${PACKET_BYTES_MAX} are taken in one packet`)
      : null;
  const account = seats.accountOf(client);
  const delivery: SourcePacket = {
    topic,
    payload: cut?.beginning ?? whole,
    retained: false,
    ...(qos === 0 ? {} : { again, ...(messageId === undefined ? {} : { messageId }) }),
    ...(account === null ? {} : { account }),
    ...(seats.isBundled(client) ? { bundled: true } : {}),
    ...(refused ? { refused } : {}),
    ...(hears(ear, topic) ? {} : { stray: 'inside' as const }),
  };
  if (refused || isOutside) Object.assign(packet, { topic: NOWHERE, payload: Buffer.alloc(0), retain: false });
  seats.hold(client, qos, delivery, ear, () => {
    done();
    if (isForbidden || isOutside) part(client);
  });
}

/** Ends a connection once what was written to it has gone out. */
function part(client: Client): void {
  setImmediate(() => client.conn.end());
  setTimeout(() => client.close(), PARTING_MS).unref();
}

interface Ear {
  readonly filters: readonly string[];
  readonly take: (packet: SourcePacket) => void;
  readonly stray: (packet: SourcePacket) => void;
}

/** Before anybody listens. */
const NOBODY: Ear = { filters: [], take: () => undefined, stray: (packet) => packet.acknowledge?.() };

function hears({ filters }: Ear, topic: string): boolean {
  return filters.some((filter) => matchesTopic(filter, topic));
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
  readonly #isSimulator: NonNullable<BrokerGuards['isSimulator']>;
  readonly #bundled = new WeakSet<Client>();
  readonly #accounts = new WeakMap<Client, string>();
  readonly #addresses = new WeakMap<Client, string>();
  readonly #holders = new Map<string, Client>();
  /** By account, so that a device gains nothing from many connections. */
  readonly #paces = new Map<string, PublishPace>();
  /** How many of a client's packets are not acknowledged. */
  readonly #held = new WeakMap<Client, number>();

  constructor(gate: BrokerGate | null, isSimulator: NonNullable<BrokerGuards['isSimulator']>) {
    this.#gate = gate;
    this.#isSimulator = isSimulator;
  }

  from(client: Client, address: string): void {
    this.#addresses.set(client, address);
  }

  async take(client: Client, user: string | undefined, password: Uint8Array | undefined): Promise<boolean> {
    if (this.#isSimulator(user, password)) this.#bundled.add(client);
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

  accountOf(client: Client): string | null {
    return this.#accounts.get(client) ?? null;
  }

  /** Whether it is the simulator that this gateway started. */
  isBundled(client: Client): boolean {
    return this.#bundled.has(client);
  }

  mayPublish(client: Client, topic: string): boolean {
    return !this.#gate || this.#gate.mayPublish(this.accountOf(client) ?? '', topic);
  }

  waitMs(client: Client | null, bytes: number): number {
    const account = client && this.#accounts.get(client);
    if (!account || !this.#gate?.isPaced(account)) return 0;
    const pace = this.#paces.get(account) ?? new PublishPace();
    this.#paces.set(account, pace);
    return pace.waitMs(performance.now(), bytes);
  }

  /**
   * Hands a packet over. The library acknowledges it, and hands it to other clients, when it is `done`; without more,
   * it would read nothing of its sender before. So a device is heard on while its packets wait for a disk, as far as
   * its own window reaches.
   */
  hold(client: Client, qos: number, packet: SourcePacket, ear: Ear, done: () => void): void {
    const hand = packet.stray ? ear.stray : ear.take;
    if (qos === 0) {
      hand(packet);
      done();
      return;
    }
    const held = (this.#held.get(client) ?? 0) + 1;
    this.#held.set(client, held);
    hand({
      ...packet,
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

function listen(server: Server, host: string, port: number): Promise<void> {
  return new Promise((done, failed) => {
    server.once('error', failed);
    server.listen(port, host, () => {
      server.removeListener('error', failed);
      done();
    });
  });
}
