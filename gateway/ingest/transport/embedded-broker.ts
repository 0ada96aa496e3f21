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
import { matchesTopic } from '../../../config/mapping/topic-filter.ts';
import { openListeners, type Certificate } from './listeners.ts';
import type { SourcePacket } from './mqtt-source.ts';
import { cutShort } from './packet-guard.ts';
import { Seats, type BrokerGate, type IsSimulator } from './seats.ts';
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

export interface BrokerGuards {
  /** Null: everybody may everything below wetdown/. */
  readonly gate: BrokerGate | null;
  readonly tls: Certificate | null;
  /** Topics outside wetdown/ that are carried too; left out: none. */
  readonly foreign?: (topic: string) => boolean;
  /** Left out: nobody is the simulator that this gateway starts. */
  readonly isSimulator?: IsSimulator;
}

/** As many as the library can hold. */
const TOPIC_LEVELS_MAX = 100;
/** Where there are passwords, and so strangers. Judgement: many devices may stand behind one radio's address. */
const CONNECTIONS_AN_ADDRESS = 150;
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
  try {
    const listeners = await openListeners(host, port, tls, {
      connectionsAnAddress: gate ? CONNECTIONS_AN_ADDRESS : Infinity,
      take: (stream, address) => seats.from(broker.handle(stream), address),
    });
    return {
      url: listeners.url,
      port: listeners.port,
      hear: (filters, take, stray = NOBODY.stray) => (ear = { filters, take, stray }),
      again: listeners.cutAll,
      close: () =>
        new Promise((closed) => {
          listeners.stop();
          broker.close(() => {
            listeners.cutAll();
            closed();
          });
        }),
    };
  } catch (error) {
    broker.close();
    throw error;
  }
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
  seats.hold(client, qos, delivery, delivery.stray ? ear.stray : ear.take, () => {
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

/**
 * Return codes of MQTT 3.1.1 section 3.2.2.3: 3 is 'the service is not there for you', 4 'bad user name or password'.
 */
function refused(why: string, returnCode: 3 | 4): AuthenticateError {
  return Object.assign(new Error(why), { returnCode });
}
