/** Who waits for a packet to be on disk: the device at the broker inside, a foreign broker's session. */
import { mkdtempSync, rmSync } from 'node:fs';
import { connect, createServer, type Server } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { openEmbeddedBroker, type EmbeddedBroker } from '../../gateway/ingest/transport/embedded-broker.ts';
import {
  openMqttSource,
  sessionName,
  topicsOf,
  type MqttSource,
  type SourcePacket,
} from '../../gateway/ingest/transport/mqtt-source.ts';
import { until } from '../support/gateway-process.ts';
import { missing } from '../support/machine.ts';
import { Mosquitto } from '../support/mosquitto.ts';

const endings: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const end of endings.splice(0).reverse()) await end();
});

async function device(url: string): Promise<MqttClient> {
  const client = await connectAsync(url, { reconnectPeriod: 0 });
  client.on('error', () => undefined);
  endings.push(() => client.endAsync(true));
  return client;
}

async function embedded(): Promise<EmbeddedBroker> {
  const broker = await openEmbeddedBroker('127.0.0.1', 0);
  endings.push(() => broker.close());
  return broker;
}

describe('the broker inside', () => {
  it('acknowledges a device when told to, each packet for itself, and goes on listening meanwhile', async () => {
    const broker = await embedded();
    const heard: SourcePacket[] = [];
    broker.hear(topicsOf('a-site', []), (packet) => void heard.push(packet));
    const one = await device(broker.url);
    const acknowledged: number[] = [];
    for (const number of [1, 2, 3])
      void one
        .publishAsync('wetdown/a-site/box/senml', `[${number}]`, { qos: 1 })
        .then(() => acknowledged.push(number));
    await until(() => heard.length === 3);
    const two = await device(broker.url);
    await two.publishAsync('wetdown/another-site/box/senml', '[]', { qos: 1 });
    await two.publishAsync('wetdown/a-site/box/status', 'online', { qos: 0 });
    await until(() => heard.length === 4);
    expect(heard.map(({ payload }) => payload.toString())).toEqual(['[1]', '[2]', '[3]', 'online']);
    expect(heard.map(({ acknowledge }) => acknowledge !== undefined)).toEqual([true, true, true, false]);
    expect(acknowledged).toEqual([]);
    heard[0]?.acknowledge?.();
    heard[1]?.acknowledge?.();
    await until(() => acknowledged.length === 2);
    expect(acknowledged).toEqual([1, 2]);
    heard[2]?.acknowledge?.();
    await until(() => acknowledged.length === 3);
  });

  it('hears a device on that gets no acknowledgement, however its packets come bundled, and answers its pings', async () => {
    const broker = await embedded();
    const heard: SourcePacket[] = [];
    broker.hear(topicsOf('a-site', []), (packet) => void heard.push(packet));
    const client = await connectAsync(broker.url, { reconnectPeriod: 0, keepalive: 1 });
    client.on('error', () => undefined);
    endings.push(() => client.endAsync(true));
    let acknowledged = 0;
    for (let bundle = 0; bundle < 20; bundle += 1) {
      for (let number = 0; number < 15; number += 1)
        client.publish('wetdown/a-site/box/senml', `[${number}]`, { qos: 1 }, () => (acknowledged += 1));
      await new Promise((done) => setTimeout(done, 150));
    }
    await until(() => heard.length === 300);
    expect([client.connected, acknowledged]).toEqual([true, 0]);
    for (const packet of heard) packet.acknowledge?.();
    await until(() => acknowledged === 300);
  });

  it('hands over what a device left as its last will', async () => {
    const broker = await embedded();
    const heard: SourcePacket[] = [];
    broker.hear(topicsOf('a-site', []), (packet) => {
      heard.push(packet);
      packet.acknowledge?.();
    });
    const client = await connectAsync(broker.url, {
      reconnectPeriod: 0,
      will: { topic: 'wetdown/a-site/box/status', payload: Buffer.from('offline'), qos: 1, retain: true },
    });
    client.stream.destroy();
    await until(() => heard.length === 1);
    expect([heard[0]?.topic, heard[0]?.payload.toString()]).toEqual(['wetdown/a-site/box/status', 'offline']);
  });

  it('forgets a device that went while it waited', async () => {
    const broker = await embedded();
    const heard: SourcePacket[] = [];
    broker.hear(topicsOf('a-site', []), (packet) => void heard.push(packet));
    const one = await device(broker.url);
    one.publish('wetdown/a-site/box/senml', '[]', { qos: 1 });
    await until(() => heard.length === 1);
    await one.endAsync(true);
    heard[0]?.acknowledge?.();
    await (await device(broker.url)).publishAsync('elsewhere-not-heard', 'x', { qos: 0 }).catch(() => undefined);
    expect((await device(broker.url)).connected).toBe(true);
  });
});

describe.skipIf(missing('mosquitto'))('a foreign broker', () => {
  let folder = '';
  let port = 0;
  let broker: Mosquitto;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'wetdown-acknowledge-'));
    broker = await Mosquitto.start(folder, ['persistence false', 'max_inflight_messages 5']);
    port = broker.port;
  });
  afterAll(async () => {
    await broker.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  async function source(url: string, session: string, take: (packet: SourcePacket) => void): Promise<MqttSource> {
    let connected = false;
    const opened = openMqttSource(url, 'a-site', session, {
      packet: take,
      state: (state) => (connected ||= state === 'connected'),
    });
    endings.push(() => opened.close());
    await until(() => connected);
    return opened;
  }

  it('hands over its window, and the rest once packets are acknowledged', async () => {
    const heard: SourcePacket[] = [];
    await source(`mqtt://127.0.0.1:${port}`, 'window', (packet) => void heard.push(packet));
    const one = await device(`mqtt://127.0.0.1:${port}`);
    for (let number = 0; number < 12; number += 1)
      await one.publishAsync('wetdown/a-site/box/senml', `[${number}]`, { qos: 1 });
    await until(() => heard.length >= 5);
    expect(heard.length).toBe(5);
    let acknowledged = 0;
    const acknowledge = (upTo: number): void => {
      for (; acknowledged < upTo; acknowledged += 1) heard[acknowledged]?.acknowledge?.();
    };
    acknowledge(3);
    await until(() => heard.length >= 8);
    acknowledge(8);
    await until(() => heard.length === 12);
    acknowledge(12);
    expect(heard.map(({ payload }) => payload.toString())).toEqual(
      Array.from({ length: 12 }, (_, number) => `[${number}]`),
    );
  });

  it('keeps for the gateway what came while it was away, and what it had not acknowledged; and for nobody else', async () => {
    const url = `mqtt://127.0.0.1:${port}`;
    const [name, other] = [
      sessionName('a-site', 'this machine', '/data'),
      sessionName('a-site', 'another machine', '/data'),
    ];
    expect([name.length, other === name]).toEqual([23, false]);
    const before: SourcePacket[] = [];
    const first = await source(url, name, (packet) => void before.push(packet));
    const one = await device(url);
    for (const payload of ['[1]', '[2]']) await one.publishAsync('wetdown/a-site/box/senml', payload, { qos: 1 });
    await until(() => before.length === 2);
    before[0]?.acknowledge?.();
    await first.close();
    await one.publishAsync('wetdown/a-site/box/senml', '[3]', { qos: 1 });
    const after: SourcePacket[] = [];
    await source(url, name, (packet) => void after.push(packet));
    await source(url, other, () => expect.unreachable('nothing was sent since'));
    await until(() => after.length === 2);
    expect(after.map(({ payload }) => payload.toString())).toEqual(['[2]', '[3]']);
    for (const packet of after) packet.acknowledge?.();
  });

  it('is sent no acknowledgement over another connection than the packet came by', async () => {
    let cut: (() => void) | null = null;
    const proxy = createServer((near) => {
      const far = connect(port, '127.0.0.1');
      for (const end of [near, far]) end.on('error', () => undefined);
      near.pipe(far).pipe(near);
      cut = () => {
        near.destroy();
        far.destroy();
      };
    });
    await listening(proxy);
    endings.push(() => new Promise((done) => proxy.close(done)));
    const heard: SourcePacket[] = [];
    const address = proxy.address();
    await source(
      `mqtt://127.0.0.1:${typeof address === 'object' && address ? address.port : 0}`,
      'cut',
      (packet) => void heard.push(packet),
    );
    await (await device(`mqtt://127.0.0.1:${port}`)).publishAsync('wetdown/a-site/box/senml', '[1]', { qos: 1 });
    await until(() => heard.length === 1);
    (cut as (() => void) | null)?.();
    heard[0]?.acknowledge?.();
    await until(() => heard.length === 2);
    expect(heard.map(({ payload }) => payload.toString())).toEqual(['[1]', '[1]']);
    heard[1]?.acknowledge?.();
  });
});

function listening(server: Server): Promise<void> {
  return new Promise((done) => void server.listen(0, '127.0.0.1', done));
}
