/**
 * The gateway's ear on a broker: subscribes to one site's topics and hands on every packet as it came.
 *
 * In: a broker's address, a name and the topics of the site. Out: packets, and the state of the connection for the screen.
 * It never publishes. A packet of QoS 1 is acknowledged when its receiver says so, not before, over the connection it came by.
 * The session is kept under a name that stays: what came at QoS 1 while the gateway was down is handed over afterwards, as
 * far as the broker keeps it. Limit: a gateway that is gone for good leaves its session behind on the broker.
 * Retries go on without end, 1 to 5 s apart.
 * Source: MQTT 3.1.1 (OASIS 2014), sections 3.4 (PUBACK) and 4.3.2 (QoS 1). QoS 2 is not asked for.
 */
import { connect, type MqttClient } from 'mqtt';
import { createHash } from 'node:crypto';
import type { Delivery } from './duplicates.ts';

export interface SourcePacket extends Delivery {
  /** QoS 1 only: to be called once the packet is on disk; until then the sender keeps it. */
  readonly acknowledge?: () => void;
}

export interface SourceEvents {
  readonly packet: (packet: SourcePacket) => void;
  readonly state: (state: 'connected' | 'connecting' | 'lost', why: string | null) => void;
}

export interface MqttSource {
  readonly close: () => Promise<void>;
}

/** Made once: a stack trace for each packet costs more than the packet. */
const LATER = new Error('acknowledged later');
const RETRY_FIRST_MS = 1_000;
const RETRY_LAST_MS = 5_000;

/** The name of the session: the same at each start; another for each site, machine and folder, because two of one name would throw each other out. Within 23 letters. */
export function sessionName(...of: readonly string[]): string {
  return `wetdown-${createHash('sha256').update(JSON.stringify(of)).digest('hex').slice(0, 15)}`;
}

/** `ca`: the authority that signed the broker's certificate; left out, those that the machine trusts. A certificate that does not fit is refused. `foreign`: topic filters that the site file maps. */
export function openMqttSource(broker: string, site: string, session: string, events: SourceEvents, ca?: Buffer, foreign: readonly string[] = []): MqttSource {
  const client = connect(broker, {
    clientId: session,
    clean: false,
    keepalive: 15,
    connectTimeout: 10_000,
    reconnectPeriod: RETRY_FIRST_MS,
    reconnectOnConnackError: true,
    queueQoSZero: false,
    resubscribe: false,
    rejectUnauthorized: true,
    ...(ca === undefined ? {} : { ca }),
  });
  events.state('connecting', null);
  watchConnection(client, topicsOf(site, foreign), events);
  client.on('message', (topic, payload, packet) => {
    const { retain: retained, dup: again, messageId } = packet;
    events.packet(packet.qos === 1 && messageId !== undefined ? { topic, payload, retained, messageId, again, acknowledge: acknowledging(client, messageId) } : { topic, payload, retained });
  });
  // The library acknowledges as soon as this calls back without an error, and goes on to the next packet either way.
  client.handleMessage = (packet, done) => done(packet.qos === 1 ? LATER : undefined);
  return { close: () => client.endAsync(!client.connected) };
}

/** A name of a packet is only known to the connection it came by: after a cut the broker sends the packet again. */
function acknowledging(client: MqttClient, messageId: number): () => void {
  const { stream } = client;
  return () => {
    if (client.stream === stream && !stream.destroyed) stream.write(Buffer.from([0x40, 2, messageId >> 8, messageId & 255]));
  };
}

/** What the gateway hears of a site, on any broker. */
export function topicsOf(site: string, foreign: readonly string[]): string[] {
  return [`wetdown/${site}/+/senml`, `wetdown/${site}/+/status`, `wetdown/${site}/simulation`, ...new Set(foreign)];
}

function watchConnection(client: MqttClient, topics: string[], events: SourceEvents): void {
  let why: string | null = null;
  client.on('connect', () => {
    client.options.reconnectPeriod = RETRY_FIRST_MS;
    client.subscribe(topics, { qos: 1 }, (error) => {
      if (!error) events.state('connected', null);
      else events.state('lost', `the broker refused the subscription: ${error.message}`);
    });
  });
  client.on('error', (error) => {
    why = error.message || ('code' in error ? String(error.code) : 'unknown error');
  });
  client.on('close', () => {
    // Some spread, so that many clients do not come back at once.
    const period = Math.min(RETRY_LAST_MS, (client.options.reconnectPeriod ?? RETRY_FIRST_MS) * (1.5 + Math.random() / 2));
    client.options.reconnectPeriod = period;
    events.state('lost', why);
    why = null;
  });
}
