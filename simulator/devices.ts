/**
 * Puts a simulation on the wire as independent devices would: a client each, QoS 1, last will, retained status.
 *
 * In: broker address, layout, simulation, speed. Out: packs on their topics; a beat of the simulated clock before each
 * second's packs; the truth, retained. Takes orders while it runs. A broker that goes away is tried again; what could
 * not be sent meanwhile is dropped beyond a bound, as a small device would.
 */
import mqtt, { type MqttClient } from 'mqtt';
import type { Layout } from '../config/layout/layout.ts';
import type { Deed } from './events.ts';
import type { Sample } from './sensors.ts';
import type { Simulation } from './simulation.ts';
import { packOf, statusOf, topics } from './wire.ts';

export interface Playing {
  readonly layout: Layout;
  readonly simulation: Simulation;
  readonly scenario: string;
  readonly seed: number;
  /** Simulated seconds a second; null: as fast as the broker takes it. */
  readonly speed: number | null;
  readonly say: (words: string) => void;
}

const KEEPALIVE_S = 12;
const RECONNECT_MS = 2_000;
/** Packs a device keeps while it has no broker. */
const BACKLOG = 200;
const TICK_MS = 50;
/** After a pause of the process, so many seconds are caught up in one go. */
const CATCH_UP_S = 30;

export class Devices {
  readonly #playing: Playing;
  readonly #clients = new Map<string, MqttClient>();
  readonly #waiting = new Map<string, number>();
  readonly #director: MqttClient;
  #running = true;
  #truth = '';

  constructor(broker: string, playing: Playing) {
    this.#playing = playing;
    const { site } = playing.layout;
    const devices = [...new Set(playing.layout.sensors.map((sensor) => sensor.device))];
    for (const [index, device] of devices.entries()) {
      const client = mqtt.connect(broker, {
        clientId: clientId(site, String(index)),
        keepalive: KEEPALIVE_S,
        reconnectPeriod: RECONNECT_MS,
        reconnectOnConnackError: true,
        queueQoSZero: false,
        will: { topic: topics.status(site, device), payload: Buffer.from(statusOf(false)), qos: 1, retain: true },
      });
      client.on('connect', () => client.publish(topics.status(site, device), statusOf(true), { qos: 1, retain: true }));
      client.on('error', () => undefined);
      this.#clients.set(device, client);
      this.#waiting.set(device, 0);
    }
    this.#director = this.#direct(broker);
  }

  #direct(broker: string): MqttClient {
    const { layout, say } = this.#playing;
    const client = mqtt.connect(broker, {
      clientId: clientId(layout.site, 'dir'),
      keepalive: KEEPALIVE_S,
      reconnectPeriod: RECONNECT_MS,
      reconnectOnConnackError: true,
    });
    let told = false;
    client.on('connect', () => {
      told = false;
      client.subscribe(topics.order(layout.site), { qos: 1 });
    });
    client.on('error', (error) => {
      if (!told) say(`The broker ${shown(broker)} cannot be reached (${error.message}); trying again.`);
      told = true;
    });
    client.on('message', (_topic, payload) => this.#take(payload.toString()));
    return client;
  }

  #take(text: string): void {
    const { layout, simulation, say } = this.#playing;
    const deed = readDeed(text);
    const refusal = typeof deed === 'string' ? deed : simulation.carry(deed);
    const words = refusal ?? `done: ${text}`;
    say(words);
    this.#director.publish(topics.answer(layout.site), JSON.stringify({ ok: refusal === null, words }), { qos: 1 });
    this.#tellTruth();
  }

  /** Runs until stop(). */
  async play(): Promise<void> {
    const { simulation, speed } = this.#playing;
    await new Promise<void>((ready) => {
      this.#director.once('connect', () => ready());
    });
    const startWall = Date.now();
    const startMs = simulation.nowMs;
    let skippedS = 0;
    while (this.#running) {
      if (speed === null) {
        await this.#second();
        continue;
      }
      const dueS = Math.floor(((Date.now() - startWall) * speed) / 1_000) - skippedS;
      let behindS = dueS - (simulation.nowMs - startMs) / 1_000;
      if (behindS > CATCH_UP_S * Math.max(1, speed)) skippedS += behindS;
      for (; behindS >= 1 && this.#running; behindS -= 1) await this.#second();
      await new Promise((done) => {
        setTimeout(done, TICK_MS);
      });
    }
  }

  async #second(): Promise<void> {
    const { layout, simulation, speed, scenario, seed } = this.#playing;
    const samples = simulation.second();
    const beat = JSON.stringify({ timeMs: simulation.nowMs, speed, scenario, seed, simulated: true });
    const beaten = this.#director
      .publishAsync(topics.beat(layout.site), beat, { qos: 1, retain: true })
      .catch(() => undefined);
    // Faster than life, the beat must be taken before the second's packs; so must the packs before the next beat.
    if (speed !== 1) await beaten;
    const sent = [...byDevice(samples)].map(([device, own]) => this.#send(device, packOf(layout.site, device, own)));
    if (speed !== 1) await Promise.all(sent);
    this.#tellTruth();
  }

  async #send(device: string, pack: string): Promise<void> {
    const client = this.#clients.get(device)!;
    const waiting = this.#waiting.get(device)!;
    if (waiting >= BACKLOG) return;
    this.#waiting.set(device, waiting + 1);
    await client.publishAsync(topics.pack(this.#playing.layout.site, device), pack, { qos: 1 }).catch(() => undefined);
    this.#waiting.set(device, this.#waiting.get(device)! - 1);
  }

  #tellTruth(): void {
    const truth = JSON.stringify({ simulated: true, standing: this.#playing.simulation.truth });
    if (truth === this.#truth) return;
    this.#truth = truth;
    this.#director.publish(topics.truth(this.#playing.layout.site), truth, { qos: 1, retain: true });
  }

  async stop(): Promise<void> {
    this.#running = false;
    const { site } = this.#playing.layout;
    const bound = new Promise<void>((done) => {
      setTimeout(done, 1_500);
    });
    await Promise.race([
      bound,
      Promise.all(
        [...this.#clients].map(async ([device, client]) => {
          if (client.connected)
            await client
              .publishAsync(topics.status(site, device), statusOf(false), { qos: 1, retain: true })
              .catch(() => undefined);
          await client.endAsync(true).catch(() => undefined);
        }),
      ),
    ]);
    await this.#director.endAsync(true).catch(() => undefined);
  }
}

/** The address without what may be a password. */
function shown(broker: string): string {
  return broker.replace(/\/\/.*@/, '//');
}

/** Unique within 23 characters, which every MQTT 3.1.1 broker must take. */
function clientId(site: string, part: string): string {
  return `sim-${site.slice(0, 14)}-${part}`;
}

function byDevice(samples: readonly Sample[]): Map<string, Sample[]> {
  const out = new Map<string, Sample[]>();
  for (const sample of samples) out.set(sample.sensor.device, [...(out.get(sample.sensor.device) ?? []), sample]);
  return out;
}

const ORDER_SHAPE = 'Write an order as {"do":"start"|"repair","what":"head-off","at":"a-3","size":1}.';

/** A deed, or a sentence on what would be right. */
function readDeed(text: string): Deed | string {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return ORDER_SHAPE;
  }
  if (typeof value !== 'object' || value === null || !('do' in value) || !('what' in value)) return ORDER_SHAPE;
  if ((value.do !== 'start' && value.do !== 'repair') || typeof value.what !== 'string') return ORDER_SHAPE;
  const at = 'at' in value && typeof value.at === 'string' ? value.at : undefined;
  const size = 'size' in value && typeof value.size === 'number' ? value.size : undefined;
  const overS = 'overS' in value && typeof value.overS === 'number' ? value.overS : undefined;
  return {
    do: value.do,
    what: value.what,
    ...(at === undefined ? {} : { at }),
    ...(size === undefined ? {} : { size }),
    ...(overS === undefined ? {} : { overS }),
  };
}

/** Sends one order to a simulator that runs, and gives its answer. */
export async function order(
  broker: string,
  site: string,
  deed: Deed,
): Promise<{ readonly ok: boolean; readonly words: string }> {
  return ask(broker, topics.answer(site), (client) =>
    client.publish(topics.order(site), JSON.stringify(deed), { qos: 1 }),
  );
}

export async function truthNow(
  broker: string,
  site: string,
): Promise<{ readonly ok: boolean; readonly words: string }> {
  return ask(broker, topics.truth(site), () => undefined);
}

const ANSWER_MS = 5_000;

async function ask(
  broker: string,
  topic: string,
  then: (client: MqttClient) => void,
): Promise<{ ok: boolean; words: string }> {
  const client = mqtt.connect(broker, { clientId: `sim-order-${process.pid}`, reconnectPeriod: 0 });
  try {
    return await new Promise((done) => {
      setTimeout(
        () =>
          done({
            ok: false,
            words:
              `No simulator answers on ${shown(broker)}. Is it running, for this site, on this broker ` +
              '(--broker, --site)?',
          }),
        ANSWER_MS,
      );
      client.on('error', (error) =>
        done({ ok: false, words: `The broker ${shown(broker)} cannot be reached: ${error.message}.` }),
      );
      client.on('connect', () => client.subscribe(topic, { qos: 1 }, () => then(client)));
      client.on('message', (_topic, payload) => {
        const answer: unknown = JSON.parse(payload.toString());
        const words =
          typeof answer === 'object' && answer !== null && 'words' in answer
            ? String(answer.words)
            : payload.toString();
        done({ ok: !(typeof answer === 'object' && answer !== null && 'ok' in answer && answer.ok === false), words });
      });
    });
  } finally {
    await client.endAsync(true);
  }
}
