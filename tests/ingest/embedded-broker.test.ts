/** The broker inside the gateway: carries the house's packets, and guards itself against the rest. */
import { connectAsync, type MqttClient } from 'mqtt';
import { connect as dial } from 'node:net';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openEmbeddedBroker, type EmbeddedBroker } from '../../gateway/ingest/transport/embedded-broker.ts';
import { topicsOf, type SourcePacket } from '../../gateway/ingest/transport/mqtt-source.ts';
import { cutShort, PacketGuard } from '../../gateway/ingest/transport/packet-guard.ts';
import { PACKET_BYTES_MAX } from '../../gateway/ingest/payloads/senml.ts';
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

  it('cuts off who publishes outside the house, after it has been told of it and has acknowledged', async () => {
    const strays: SourcePacket[] = [];
    broker.hear(
      topicsOf('a-site', []),
      () => expect.unreachable('no topic of the site'),
      (packet) => {
        strays.push(packet);
        packet.acknowledge?.();
      },
    );
    const outside = await device();
    const gone = closing(outside);
    let acknowledged = false;
    outside.publish('elsewhere/topic', 'x', { qos: 1 }, (error) => (acknowledged = !error));
    await gone;
    expect([acknowledged, strays.map(({ topic, stray }) => [topic, stray])]).toEqual([
      true,
      [['elsewhere/topic', 'inside']],
    ]);
    expect((await device()).connected).toBe(true);
  });

  it('takes a packet of the size it states, and keeps who sends a larger one: the beginning is handed over as refused', async () => {
    const heard: SourcePacket[] = [];
    broker.hear(topicsOf('a-site', []), (packet) => {
      heard.push(packet);
      packet.acknowledge?.();
    });
    const client = await device();
    const spy = await device();
    const carried: number[] = [];
    spy.on('message', (_topic, payload) => void carried.push(payload.length));
    await spy.subscribeAsync('wetdown/#', { qos: 1 });
    const sizes = [PACKET_BYTES_MAX, PACKET_BYTES_MAX + 1, PACKET_BYTES_MAX + 4_000, 300_000, 5_000_000, 3];
    for (const qos of [0, 1, 2] as const)
      for (const size of sizes)
        await client.publishAsync('wetdown/a-site/box/senml', Buffer.alloc(size, '[1]'), { qos, retain: size > 300 });
    await until(() => heard.length === 3 * sizes.length && carried.length === 6);
    expect(client.connected).toBe(true);
    for (const [index, { payload, refused, acknowledge }] of heard.entries()) {
      const size = sizes[index % sizes.length]!;
      const isLarge = size > PACKET_BYTES_MAX;
      expect(refused?.reason).toBe(isLarge ? 'ingest/too-large' : undefined);
      if (isLarge) expect(refused?.detail).toContain(`${size} bytes, at most ${PACKET_BYTES_MAX}`);
      expect(payload.toString()).toBe('[1]'.repeat(size).slice(0, size <= PACKET_BYTES_MAX ? size : payload.length));
      expect(payload.length).toBe(size <= PACKET_BYTES_MAX + 4_000 ? size : 1_024);
      expect(acknowledge !== undefined).toBe(index >= sizes.length);
    }
    expect(carried, 'what was refused is neither carried nor retained').toEqual([
      PACKET_BYTES_MAX,
      3,
      PACKET_BYTES_MAX,
      3,
      PACKET_BYTES_MAX,
      3,
    ]);
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

  it('stops at the header of one that is too large and no PUBLISH, and at a length that never ends', async () => {
    const subscribe = packet(101);
    subscribe[0] = 0x82;
    expect((await pass([packet(10), subscribe])).fault).toContain('101 bytes');
    const first = Buffer.concat([Buffer.from([0x30, 0x81, 0x80, 0x01]), Buffer.alloc(16_385)]);
    expect((await pass([first], 20_000)).fault).toContain('16385 bytes');
    expect((await pass([Buffer.from([0x30, 0xff, 0xff, 0xff, 0xff])])).fault).toContain('malformed');
  });

  it('cuts a PUBLISH short that is too large, wherever the stream is cut, and passes what is before and after it', async () => {
    const publish = (qos: 0 | 1, size: number, letter: string): Buffer => {
      const topic = Buffer.from('\u0000\u0003a/b');
      const rest = Buffer.concat([topic, ...(qos ? [Buffer.from([0x12, 0x34])] : []), Buffer.alloc(size, letter)]);
      const { length } = rest;
      const sizes =
        length < 128
          ? [length]
          : length < 16_384
            ? [0x80 | (length & 127), length >> 7]
            : [0x80 | (length & 127), 0x80 | ((length >> 7) & 127), length >> 14];
      return Buffer.concat([Buffer.from([0x30 | (qos << 1), ...sizes]), rest]);
    };
    const stream = Buffer.concat([
      packet(10),
      publish(1, 40_000, 'x'),
      packet(0),
      publish(0, 30_000, 'y'),
      publish(1, 3_000, 'z'),
      packet(99),
    ]);
    let whole: Buffer | null = null;
    for (const step of [stream.length, 1, 2, 3, 7, 1_000, 1_029, 4_096]) {
      const guard = new PacketGuard(2_000);
      const out: Buffer[] = [];
      guard.on('data', (chunk: Buffer) => void out.push(chunk));
      const ended = new Promise((done) => void guard.once('end', done));
      for (let at = 0; at < stream.length; at += step) guard.write(stream.subarray(at, at + step));
      guard.end();
      await ended;
      const passed = Buffer.concat(out);
      whole ??= passed;
      expect(passed.equals(whole), `in steps of ${step}`).toBe(true);
    }
    expect(whole!.length).toBeLessThan(4_000);
    const told = [...whole!.toString('latin1').matchAll(/a\/b/g)].map(({ index }) => index + 3);
    const [one, two, three] = [told[0]! + 2, told[1]!, told[2]! + 2].map((at) => cutShort(whole!.subarray(at)));
    expect([one!.bytes, two!.bytes, three!.bytes]).toEqual([40_000, 30_000, 3_000]);
    expect([one!, two!, three!].map(({ beginning }) => beginning.subarray(0, 1_024).toString())).toEqual(
      ['x', 'y', 'z'].map((letter) => letter.repeat(1_024)),
    );
    expect(cutShort(Buffer.alloc(2_000)), 'nobody else can say so').toBeNull();
  });
});
