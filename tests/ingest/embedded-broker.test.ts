/** The broker inside the gateway: carries the house's packets, and guards itself against the rest. */
import { connectAsync, type MqttClient } from 'mqtt';
import { connect as dial } from 'node:net';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openEmbeddedBroker, type EmbeddedBroker } from '../../gateway/ingest/embedded-broker.ts';
import { topicsOf, type SourcePacket } from '../../gateway/ingest/mqtt-source.ts';
import { PacketGuard } from '../../gateway/ingest/packet-guard.ts';
import { until } from '../support/gateway-process.ts';

let broker: EmbeddedBroker;
let clients: MqttClient[] = [];

beforeEach(async () => {
  broker = await openEmbeddedBroker('127.0.0.1', 0);
});
afterEach(async () => {
  for (const client of clients) await client.endAsync(true);
  clients = [];
  await broker.close();
});

async function device(options: { clean?: boolean; clientId?: string } = {}): Promise<MqttClient> {
  const client = await connectAsync(broker.url, { reconnectPeriod: 0, connectTimeout: 5_000, ...options });
  client.on('error', () => undefined);
  clients.push(client);
  return client;
}

function closing(client: MqttClient): Promise<void> {
  return new Promise((done) => void client.once('close', () => done()));
}

describe('the broker inside', () => {
  it('hands the topics of one site to the gateway, and everything to who asks the broker', async () => {
    const heard: SourcePacket[] = [];
    broker.hear(topicsOf('a-site', []), (packet) => {
      heard.push(packet);
      packet.acknowledge?.();
    });
    const one = await device();
    const topics = [
      'wetdown/a-site/box/status',
      'wetdown/another-site/box/senml',
      'wetdown/a-site/box/senml',
      'wetdown/a-site/box/senml/more',
      'wetdown/a-site/simulation',
      'wetdown/a-site/box/other',
    ];
    for (const topic of topics) await one.publishAsync(topic, topic.slice(-4), { qos: 1, retain: true });
    expect(heard.map(({ topic, payload, retained }) => [topic, payload.toString(), retained])).toEqual([
      ['wetdown/a-site/box/status', 'atus', false],
      ['wetdown/a-site/box/senml', 'enml', false],
      ['wetdown/a-site/simulation', 'tion', false],
    ]);
    const two = await device();
    const kept: string[] = [];
    two.on('message', (topic) => void kept.push(topic));
    await two.subscribeAsync('wetdown/#', { qos: 1 });
    await until(() => kept.length === topics.length);
  });

  it('cuts off who publishes outside the house, or too much', async () => {
    const outside = await device();
    const gone = closing(outside);
    outside.publish('elsewhere/topic', 'x', { qos: 1 });
    await gone;
    const large = await device();
    const goneToo = closing(large);
    large.publish('wetdown/a-site/box/senml', Buffer.alloc(200_000), { qos: 1 });
    await goneToo;
    expect((await device()).connected).toBe(true);
  });

  it('carries topics that the site file maps, and hands them on once', async () => {
    await broker.close();
    broker = await openEmbeddedBroker('127.0.0.1', 0, {
      gate: null,
      tls: null,
      foreign: (topic) => topic.startsWith('orchard/'),
    });
    const got: string[] = [];
    broker.hear(topicsOf('a-site', ['orchard/+/measured', 'orchard/+/measured']), ({ topic, acknowledge }) => {
      got.push(topic);
      acknowledge?.();
    });
    const node = await device();
    for (const topic of ['orchard/end-a/measured', 'orchard/end-a/other', 'wetdown/a-site/box/senml'])
      await node.publishAsync(topic, '{}', { qos: 1 });
    expect(got).toEqual(['orchard/end-a/measured', 'wetdown/a-site/box/senml']);
  });

  it('keeps no sessions', async () => {
    await expect(device({ clean: false, clientId: 'kept' })).rejects.toThrow();
  });

  it('drops a stranger that sends anything but a small CONNECT', async () => {
    const url = new URL(broker.url);
    const socket = dial(Number(url.port), url.hostname);
    socket.on('error', () => undefined);
    const closed = new Promise<number>((done) => void socket.once('close', () => done(socket.bytesWritten)));
    socket.write(Buffer.from([0x10, 0xff, 0xff, 0xff, 0x7f]));
    expect(await closed).toBe(5);
  });
});

describe('the packet guard', () => {
  async function pass(chunks: readonly Buffer[], max = 100): Promise<{ bytes: number; fault: string | null }> {
    const guard = new PacketGuard(max);
    let bytes = 0;
    guard.on('data', (chunk: Buffer) => (bytes += chunk.length));
    return new Promise((done) => {
      guard.once('error', (error) => done({ bytes, fault: error.message }));
      guard.once('end', () => done({ bytes, fault: null }));
      for (const chunk of chunks) guard.write(chunk);
      guard.end();
    });
  }
  const packet = (length: number): Buffer =>
    Buffer.concat([
      Buffer.from(length < 128 ? [0x30, length] : [0x30, 0x80 | (length % 128), length >> 7]),
      Buffer.alloc(length),
    ]);

  it('passes packets that are small enough, however they are cut', async () => {
    const bytes = Buffer.concat([packet(10), packet(0), packet(100)]);
    expect(await pass([bytes])).toEqual({ bytes: bytes.length, fault: null });
    expect(await pass([...bytes].map((byte) => Buffer.from([byte])))).toEqual({ bytes: bytes.length, fault: null });
  });

  it('stops at the header of one that is too large, and at a length that never ends', async () => {
    expect((await pass([packet(10), packet(101)])).fault).toContain('101 bytes');
    expect((await pass([Buffer.from([0x30, 0xff, 0xff, 0xff, 0xff])])).fault).toContain('malformed');
  });
});
