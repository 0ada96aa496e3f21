/**
 * The gateway's ear on a broker: subscribes to one site's topics and hands on every packet as it came. It never
 * publishes.
 *
 * In: a broker's address, a name, the site's topics. Out: packets, and the state of the connection. A packet of QoS 1
 * is acknowledged when its receiver says so, over the connection it came by (MQTT 3.1.1 sections 3.4 and 4.3.2). The
 * session keeps its name, so the broker keeps packets while the gateway is down. Two more connections at QoS 0: one
 * listens along when asked to, one hears what is on no topic of the site. Retries: 1 to 5 s apart, for ever. Limits: a
 * gateway that is gone leaves its session on the broker; oversize packets are gathered in memory; no QoS 2.
 */
import { connect, type MqttClient } from 'mqtt';
import { createHash } from 'node:crypto';
import type { Delivery } from '../devices/duplicates.ts';
import type { Hearing } from './parallel-connection.ts';
import type { Refusal } from '../refusal.ts';
import { matchesTopic } from '../../../config/mapping/topic-filter.ts';

export interface SourcePacket extends Delivery {
  /** QoS 1 only: to be called once the packet is on disk; until then the sender keeps it. */
  readonly acknowledge?: () => void;
  /** Comes from the simulator that this gateway started. */
  readonly bundled?: true;
  /** On a topic that is not heard here: of the broker inside, or of one that may carry other sites too. */
  readonly stray?: 'inside' | 'shared';
  /** Refused at the door; its payload is the first of it. */
  readonly refused?: Refusal;
  /** The account that sent it, where there are accounts. */
  readonly account?: string;
}

export interface SourceEvents {
  readonly packet: (packet: SourcePacket) => void;
  readonly state: (state: 'connected' | 'connecting' | 'lost', why: string | null) => void;
}

export interface MqttSource {
  /** Which connections are to be open: the kept session, one that listens along, or both. */
  readonly hear: (how: Hearing) => void;
  /** Connects anew, so that the broker hands over again what was not acknowledged. */
  readonly again: () => void;
  readonly close: () => Promise<void>;
}

/** Made once: a stack trace for each packet costs more than the packet. */
const LATER = new Error('acknowledged later');
/** Near misses of a topic lie below it. */
const STRAYS = 'wetdown/#';
const RETRY_FIRST_MS = 1_000;
const RETRY_LAST_MS = 5_000;

/**
 * The name of the session: the same at each start; another for each site, machine and folder, because two of one name
 * would throw each other out. Within 23 letters.
 */
export function sessionName(...of: readonly string[]): string {
  return `wetdown-${createHash('sha256').update(JSON.stringify(of)).digest('hex').slice(0, 15)}`;
}

/**
 * `ca`: the authority that signed the broker's certificate; left out, those that the machine trusts. A certificate that
 * does not fit is refused. `foreign`: topic filters that the site file maps.
 */
export function openMqttSource(
  broker: string,
  site: string,
  session: string,
  events: SourceEvents,
  ca?: Buffer,
  foreign: readonly string[] = [],
): MqttSource {
  const topics = topicsOf(site, foreign);
  let how: Hearing = 'kept';
  let along: MqttClient | null = null;
  const strays = hearStrays(dial(broker, sessionName(session, 'strays'), true, ca), topics, events);
  let kept: MqttClient | null = openKept();
  events.state('connecting', null);

  function openKept(): MqttClient {
    const client = dial(broker, session, false, ca);
    watchConnection(client, topics, 1, (state, why) => {
      if (client === kept) events.state(state, why);
    });
    handOn(client, events);
    return client;
  }

  /** The kept session is left only once this one hears: a broker may turn it away. */
  function openAlong(): MqttClient {
    const client = dial(broker, sessionName(session, 'along'), true, ca);
    watchConnection(client, topics, 0, (state, why) => {
      if (client !== along || how !== 'along') return;
      if (state === 'connected') kept = leave(kept);
      if (kept === null) events.state(state, why);
    });
    client.on('message', (topic, payload, { retain }) => {
      if (!retain && client === along) events.packet({ topic, payload, retained: false, along: true });
    });
    return client;
  }

  return {
    hear: (wanted) => {
      if (wanted === how) return;
      how = wanted;
      along = how === 'kept' ? leave(along) : (along ?? openAlong());
      if (how === 'along' || kept) return;
      kept = openKept();
      events.state('connecting', null);
    },
    again: () => kept?.stream.destroy(),
    close: async () => {
      await strays.endAsync(true);
      await along?.endAsync(true);
      await kept?.endAsync(!kept.connected);
    },
  };
}

function dial(broker: string, clientId: string, clean: boolean, ca: Buffer | undefined): MqttClient {
  return connect(broker, {
    clientId,
    clean,
    keepalive: 15,
    connectTimeout: 10_000,
    reconnectPeriod: RETRY_FIRST_MS,
    reconnectOnConnackError: true,
    queueQoSZero: false,
    resubscribe: false,
    rejectUnauthorized: true,
    ...(ca === undefined ? {} : { ca }),
  });
}

/** Every packet of the kept session, with the way to acknowledge it. */
function handOn(client: MqttClient, events: SourceEvents): void {
  client.on('message', (topic, payload, packet) => {
    const { retain: retained, dup: again, messageId } = packet;
    events.packet(
      packet.qos === 1 && messageId !== undefined
        ? { topic, payload, retained, messageId, again, acknowledge: acknowledging(client, messageId) }
        : { topic, payload, retained },
    );
  });
  // The library acknowledges as soon as this calls back without an error, and goes on to the next packet either way.
  client.handleMessage = (packet, done) => done(packet.qos === 1 ? LATER : undefined);
}

/** What is published beside the right topics: seen as far as this connection hears it. Nothing waits for it. */
function hearStrays(client: MqttClient, topics: readonly string[], events: SourceEvents): MqttClient {
  watchConnection(client, [STRAYS], 0, () => undefined);
  client.on('message', (topic, payload, { retain: retained }) => {
    if (!topics.some((filter) => matchesTopic(filter, topic)))
      events.packet({ topic, payload, retained, stray: 'shared' });
  });
  return client;
}

function leave(client: MqttClient | null): null {
  client?.end(true);
  return null;
}

/** A name of a packet is only known to the connection it came by: after a cut the broker sends the packet again. */
function acknowledging(client: MqttClient, messageId: number): () => void {
  const { stream } = client;
  return () => {
    if (client.stream !== stream || stream.destroyed) return;
    // All of one commit go out together.
    if (stream.writableCorked === 0) {
      stream.cork();
      process.nextTick(() => stream.uncork());
    }
    stream.write(Buffer.from([0x40, 2, messageId >> 8, messageId & 255]));
  };
}

/** What the gateway hears of a site, on any broker. */
export function topicsOf(site: string, foreign: readonly string[]): string[] {
  return [`wetdown/${site}/+/senml`, `wetdown/${site}/+/status`, `wetdown/${site}/simulation`, ...new Set(foreign)];
}

function watchConnection(client: MqttClient, topics: string[], qos: 0 | 1, told: SourceEvents['state']): void {
  let why: string | null = null;
  client.on('connect', () => {
    client.options.reconnectPeriod = RETRY_FIRST_MS;
    client.subscribe(topics, { qos }, (error) => {
      if (!error) told('connected', null);
      else told('lost', `the broker refused the subscription: ${error.message}`);
    });
  });
  client.on('error', (error) => {
    why = error.message || ('code' in error ? String(error.code) : 'unknown error');
  });
  client.on('close', () => {
    // Some spread, so that many clients do not come back at once.
    const period = Math.min(
      RETRY_LAST_MS,
      (client.options.reconnectPeriod ?? RETRY_FIRST_MS) * (1.5 + Math.random() / 2),
    );
    client.options.reconnectPeriod = period;
    told('lost', why);
    why = null;
  });
}
