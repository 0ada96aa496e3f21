/**
 * The gateway's ear on a broker: subscribes to one site's topics and hands on every packet as it came.
 *
 * In: a broker's address and the site. Out: packets, and the state of the connection for the screen. It never publishes.
 * Sessions are clean: what was sent while the gateway was away is a gap, and is shown as one; a kept session under a random
 * name would leave a queue behind on the broker for ever. Retries go on without end, 1 to 5 s apart.
 */
import { connect, type MqttClient } from 'mqtt';

export interface SourcePacket {
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly retained: boolean;
}

export interface SourceEvents {
  readonly packet: (packet: SourcePacket) => void;
  readonly state: (state: 'connected' | 'connecting' | 'lost', why: string | null) => void;
}

export interface MqttSource {
  readonly close: () => Promise<void>;
}

const RETRY_FIRST_MS = 1_000;
const RETRY_LAST_MS = 5_000;

/** `ca`: the authority that signed the broker's certificate; left out, those that the machine trusts. A certificate that does not fit is refused. `foreign`: topic filters that the site file maps. */
export function openMqttSource(broker: string, site: string, events: SourceEvents, ca?: Buffer, foreign: readonly string[] = []): MqttSource {
  const client = connect(broker, {
    clientId: `wetdown-${Math.random().toString(36).slice(2, 12)}`,
    clean: true,
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
  watchConnection(client, [`wetdown/${site}/+/senml`, `wetdown/${site}/+/status`, `wetdown/${site}/simulation`, ...new Set(foreign)], events);
  client.on('message', (topic, payload, packet) => events.packet({ topic, payload, retained: packet.retain }));
  return { close: () => client.endAsync(true) };
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
