/**
 * What is refused for its size, its topic or its sender: by real MQTT clients at the broker inside, through the loop
 * into the record. The device goes on, somebody is told, and nothing of it is believed, now or when the record is
 * played again.
 */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { BrokerAccounts, SimulatorAccount } from '../../gateway/access/broker-accounts.ts';
import { seal } from '../../gateway/access/passphrase.ts';
import {
  openEmbeddedBroker,
  type BrokerGuards,
  type EmbeddedBroker,
} from '../../gateway/ingest/transport/embedded-broker.ts';
import { topicsOf } from '../../gateway/ingest/transport/mqtt-source.ts';
import type { SimulatedFrom } from '../../gateway/ingest/transport/simulated-input.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { openRun } from '../../gateway/journal/run-reader.ts';
import { rerun } from '../../gateway/replay/rerun.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { demoSite } from '../support/demo-site.ts';
import { until } from '../support/gateway-process.ts';

const { layout, text } = demoSite();
const SENML = 'wetdown/larch-cove/end-a/senml';

let folder = '';
let broker: EmbeddedBroker;
let loop: RunLoop;
let shown: { readonly picture: Picture; readonly feed: FeedPicture } | null = null;
let ticker: NodeJS.Timeout;
let clients: MqttClient[] = [];

async function start(guards: Partial<BrokerGuards> = {}, simulatedFrom: SimulatedFrom = 'nobody'): Promise<void> {
  broker = await openEmbeddedBroker('127.0.0.1', 0, { gate: null, tls: null, ...guards });
  startLoop(simulatedFrom);
}

function startLoop(simulatedFrom: SimulatedFrom = 'nobody'): void {
  loop = new RunLoop({
    layout,
    layoutText: text,
    software: 'test',
    bundledSimulator: false,
    simulatedFrom,
    broker: broker.url,
    wallMs: () => Date.now(),
    makeWatch: createWatch,
    openJournal: (facts, patient) => Journal.open(folder, facts, patient),
    restarted: () => undefined,
    show: (picture, feed) => void (shown = { picture, feed }),
  });
  const hear = (packet: Parameters<RunLoop['packet']>[0]): void => loop.packet(packet);
  broker.hear(topicsOf(layout.site, []), hear, hear);
  ticker = setInterval(() => loop.tick(), 50);
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-door-'));
  shown = null;
});
afterEach(async () => {
  clearInterval(ticker);
  for (const client of clients) await client.endAsync(true);
  clients = [];
  await broker.close();
  loop.close();
  rmSync(folder, { recursive: true, force: true });
});

async function device(
  options: { username?: string; password?: string; reconnectPeriod?: number } = {},
): Promise<MqttClient> {
  const client = await connectAsync(broker.url, { reconnectPeriod: 0, ...options });
  client.on('error', () => undefined);
  clients.push(client);
  return client;
}

const pack = (value: number): string => JSON.stringify([{ n: 'pressure', u: 'Pa', v: value }]);
const rowOf = (reason: string): FeedPicture['rejected'][number] | undefined =>
  shown?.feed.rejected.find((row) => row.reason === reason);

function rows<Row>(query: string): Row[] {
  loop.flush();
  const database = new Database(join(folder, `${loop.run.name}.sqlite`), { readonly: true });
  try {
    return database.prepare<[], Row>(query).all();
  } finally {
    database.close();
  }
}

describe('an oversize packet', () => {
  it('first in the queue of a device holds up none of the hundred behind it, also when it comes again', async () => {
    await start();
    const client = await device({ reconnectPeriod: 100 });
    let acknowledged = 0;
    const send = (payload: string | Buffer): void =>
      void client.publish(SENML, payload, { qos: 1 }, (error) => (acknowledged += error ? 0 : 1));
    const oversize = Buffer.alloc(1_000_000, '[1] ');
    for (const round of [1, 2]) {
      // Everything goes into the client's own queue while it is cut off; on its return the large one comes first.
      broker.again();
      await until(() => !client.connected);
      send(oversize);
      for (let number = 0; number < 100; number += 1) send(pack(300_000 + 1_000 * round + number));
      await until(() => acknowledged === 101 * round);
    }
    await until(() => rowOf('ingest/too-large')?.count === 2);
    const readings = rows<{ value: number }>('select distinct value from reading');
    expect(readings).toHaveLength(200);
    expect(
      rows("select length(payload) as size, topic, count(*) as n from packet where verdict = 'ingest/too-large'"),
    ).toEqual([{ size: 1_024, topic: SENML, n: 2 }]);
    expect(rowOf('ingest/too-large')).toMatchObject({ topic: SENML, topics: [{ topic: SENML, count: 2 }] });
    expect(rowOf('ingest/too-large')?.detail).toMatch(/^1000000 bytes, at most 262144 are taken/);
    expect(shown?.feed.devices.find((one) => one.device === 'end-a')?.refused).toEqual([
      { reason: 'ingest/too-large', count: 2 },
    ]);
  });

  it('costs no memory, however large it says it is', async () => {
    await start();
    const client = await device();
    const before = process.memoryUsage().rss;
    for (let number = 0; number < 4; number += 1)
      await client.publishAsync(SENML, Buffer.alloc(40_000_000, 'x'), { qos: 1 });
    await client.publishAsync(SENML, pack(412_000), { qos: 1 });
    // The sender's own copies are in this process too.
    expect((process.memoryUsage().rss - before) / 1e6).toBeLessThan(400);
    await until(() => rowOf('ingest/too-large')?.count === 4);
    expect(rows('select value from reading')).toEqual([{ value: 412_000 }]);
  });

  it('is not needed for a backlog of as many records as are read', async () => {
    await start();
    const client = await device();
    const nowS = Date.now() / 1_000;
    const records = Array.from({ length: 2_000 }, (_, index) => ({
      n: 'larch-cove:end-a:pressure',
      u: 'Pa',
      v: 400_000.125 + index,
      t: Math.round((nowS - 2_000 + index) * 1_000) / 1_000,
    }));
    const backlog = JSON.stringify(records);
    expect(backlog.length).toBeGreaterThan(130_000);
    await client.publishAsync(SENML, backlog, { qos: 1 });
    expect(rows('select count(*) as n from reading')).toEqual([{ n: 2_000 }]);
  });
});

describe('a wrong topic', () => {
  it.each([
    ['wetdown/larch_cove/end-a/senml', 'wetdown/larch-cove/end-a/senml'],
    ['wetdown/Larch-Cove/end-a/senml', 'wetdown/larch-cove/end-a/senml'],
    ['wetdown/larch-cove/end-a/SenML', 'wetdown/larch-cove/end-a/senml'],
    ['wetdown/larch-cove/end_a/senmi', 'wetdown/larch-cove/end-a/senml'],
    ['wetdown/larch-cove/end-a/stat', 'wetdown/larch-cove/end-a/status'],
    ['wetdown/larch-cove/pumpbox/senml/', 'wetdown/larch-cove/pump-box/senml'],
    ['wetdown/larch-cove/end-a', 'wetdown/larch-cove/end-a/senml'],
    ['wetdown/larch-cove/senml', 'wetdown/larch-cove/DEVICE/senml'],
    ['wetdown/end-a/senml', 'wetdown/larch-cove/end-a/senml'],
    ['wetdown/larch-cove/line/end-a/senml', 'wetdown/larch-cove/end-a/senml'],
    ['/wetdown/larch-cove/end-a/senml', 'wetdown/larch-cove/end-a/senml'],
    ['wetdwon/larch-cove/end-a/senml', 'wetdown/larch-cove/end-a/senml'],
    ['larch-cove/end-a/senml', 'wetdown/larch-cove/end-a/senml'],
    ['wetdown/mill-lane/end-a/senml', 'wetdown/larch-cove/end-a/senml'],
    ['greenhouse/7/humidity', null],
    [`wetdown/larch-cove${'/a'.repeat(60)}`, null],
  ])('%s is acknowledged, kept, counted, and shown with what would be right: %s', async (topic, hint) => {
    await start();
    const client = await device();
    await client.publishAsync(topic, pack(400_000) + ' '.repeat(5_000), { qos: 1 });
    await until(() => rowOf('ingest/bad-topic')?.count === 1);
    expect(rowOf('ingest/bad-topic')?.topics).toEqual([
      { topic, hint, count: 1, lastMs: expect.any(Number) as number },
    ]);
    if (hint !== null) expect(rowOf('ingest/bad-topic')?.detail).toContain(`did you mean '${hint}'?`);
    expect(rows('select topic, length(payload) as size, verdict from packet')).toEqual([
      { topic, size: 1_024, verdict: 'ingest/bad-topic' },
    ]);
    expect(rows('select * from reading')).toEqual([]);
  });

  it('does not stop its device: what it sends on its right topic is taken over the same connection', async () => {
    await start();
    const client = await device();
    let cuts = 0;
    client.on('close', () => (cuts += 1));
    for (let number = 0; number < 20; number += 1) {
      await client.publishAsync('wetdown/larch-cove/end-a/statu', 'online', { qos: 1 });
      await client.publishAsync(SENML, pack(400_000 + number), { qos: 1 });
    }
    await until(() => rowOf('ingest/bad-topic')?.count === 20);
    expect([cuts, rows<{ value: number }>('select value from reading').length]).toEqual([0, 20]);
  });

  it('is not what the simulator is told, or tells, on topics of its own', async () => {
    await start();
    const client = await device();
    for (const leaf of ['order', 'answer', 'truth'])
      await client.publishAsync(`wetdown/larch-cove/simulation/${leaf}`, '{}', { qos: 1 });
    await client.publishAsync(SENML, pack(400_000), { qos: 1 });
    await until(() => shown !== null);
    expect([shown!.feed.rejected, rows('select topic from packet')]).toEqual([[], [{ topic: SENML }]]);
  });

  it('in a flood of others stays in sight, and every one is counted', async () => {
    await start();
    const client = await device();
    const sent: Promise<unknown>[] = [];
    for (let number = 0; number < 3_000; number += 1) {
      sent.push(client.publishAsync(`wetdown/larch-cove/flood/${number}\u0007\u202e<b>`, 'x', { qos: 1 }));
      if (number % 100 === 0) sent.push(client.publishAsync('wetdown/larch_cove/end-a/senml', 'x', { qos: 1 }));
    }
    await Promise.all(sent);
    await until(() => rowOf('ingest/bad-topic')?.count === 3_030);
    const { topics } = rowOf('ingest/bad-topic')!;
    expect(topics!.length).toBeLessThanOrEqual(20);
    expect(topics!.find(({ topic }) => topic === 'wetdown/larch_cove/end-a/senml')).toMatchObject({
      hint: 'wetdown/larch-cove/end-a/senml',
    });
    expect(JSON.stringify(shown!.feed)).not.toMatch(/\\u0007|\u202e/);
  });
});

describe('with accounts', () => {
  const guards = async (): Promise<Partial<BrokerGuards>> => {
    const quick = { logN: 10, r: 8, p: 1 };
    const accounts = new BrokerAccounts('larch-cove', new Map([['end-a', await seal('right', quick)]]));
    return {
      gate: {
        authenticate: (user, password, address) => accounts.authenticate(user, password, address, Date.now()),
        mayPublish: (account, topic) => accounts.mayPublish(account, topic),
        maySubscribe: () => false,
        isPaced: () => true,
      },
    };
  };

  it('a device that speaks for another is not believed, said, cut off, and goes on with its own', async () => {
    await start(await guards());
    const client = await device({ username: 'end-a', password: 'right', reconnectPeriod: 50 });
    let [cuts, acknowledged] = [0, 0];
    client.on('close', () => (cuts += 1));
    const send = (topic: string, value: number): void =>
      void client.publish(topic, pack(value), { qos: 1 }, (error) => (acknowledged += error ? 0 : 1));
    send('wetdown/larch-cove/end-b/senml', 1);
    send('wetdown/larch_cove/end-a/senml', 2);
    for (let number = 0; number < 10; number += 1) send(SENML, 400_000 + number);
    await until(() => acknowledged === 12);
    await until(() => rowOf('ingest/not-allowed')?.count === 2);
    expect(cuts).toBeGreaterThanOrEqual(1);
    expect(rows('select distinct value from reading where value < 400000')).toEqual([]);
    expect(rows<object>('select distinct value from reading')).toHaveLength(10);
    expect(rowOf('ingest/not-allowed')?.detail).toContain("'end-a' may not publish there");
    expect(rowOf('ingest/not-allowed')?.topics?.map(({ topic, hint }) => [topic, hint])).toEqual([
      ['wetdown/larch_cove/end-a/senml', SENML],
      ['wetdown/larch-cove/end-b/senml', SENML],
    ]);
    expect(shown?.feed.devices.find((one) => one.device === 'end-a')?.refused).toEqual([
      { reason: 'ingest/not-allowed', count: 2 },
    ]);
    expect(shown?.feed.devices.find((one) => one.device === 'end-b')).toMatchObject({ packets: 0, lastMs: null });
  });

  it('what was refused is not believed either when the record is played again, or the gateway started again', async () => {
    await start(await guards());
    const client = await device({ username: 'end-a', password: 'right', reconnectPeriod: 50 });
    await client.publishAsync(SENML, pack(400_000), { qos: 1 });
    await client.publishAsync(SENML, JSON.stringify([{ n: 'pressure', u: 'Pa', v: 7, simulated: true }]), { qos: 1 });
    await client.publishAsync('wetdown/larch-cove/end-b/senml', pack(5), { qos: 1 });
    await until(() => rowOf('ingest/not-allowed')?.count === 1 && rowOf('ingest/simulated')?.count === 1);
    clearInterval(ticker);
    loop.close();
    const opened = openRun(join(folder, `${loop.run.name}.sqlite`));
    if (!opened.ok) throw new Error(opened.why);
    const { reader } = opened;
    const values = new Set<number | null>();
    const steps = rerun(
      {
        layout,
        startedMs: reader.header.startedMs,
        endMs: reader.endMs + 3_000,
        events: reader.events(),
        awakeMs: reader.pictureTimes(),
      },
      createWatch(layout, { simulated: false }),
      (picture) => picture.channels.forEach(({ value }) => values.add(value)),
    );
    for (const atMs of steps) expect(atMs).toBeGreaterThan(0);
    reader.close();
    expect([...values].filter((value) => value !== null)).toEqual([400_000]);
    startLoop();
    await until(() => shown?.picture.advice.working === true);
    expect(shown!.picture.channels.flatMap(({ value }) => value ?? [])).toEqual([400_000]);
    expect(shown!.feed.rejected.map(({ reason, count }) => [reason, count])).toEqual([
      ['ingest/simulated', 1],
      ['ingest/not-allowed', 1],
    ]);
  });
});

describe('simulated packets', () => {
  const BEAT = JSON.stringify({ timeMs: 1_700_000_000_000, speed: 60, simulated: true });
  const PACK = JSON.stringify([{ n: 'pressure', u: 'Pa', v: 7, simulated: true }]);
  const HIDDEN = '[{"n":"pressure","u":"Pa","v":8,"\\u0073imulated":true}]';
  const STATUS = JSON.stringify({ online: true, simulated: true });
  const SENT = [
    ['wetdown/larch-cove/simulation', BEAT],
    [SENML, PACK],
    [SENML, HIDDEN],
    ['wetdown/larch-cove/end-a/status', STATUS],
  ] as const;

  it('without a simulator are refused and counted, retained or not, at every start', async () => {
    await start();
    for (const round of [1, 2]) {
      const client = await device();
      for (const [topic, payload] of SENT) await client.publishAsync(topic, payload, { qos: 1, retain: true });
      // As a broker outside hands them over that has kept them.
      for (const [topic, payload] of SENT) loop.packet({ topic, payload: Buffer.from(payload), retained: true });
      await until(() => rowOf('ingest/simulated')?.count === 8);
      expect(rowOf('ingest/simulated')).toMatchObject({
        detail: expect.stringContaining('--accept-simulator') as string,
        topics: [
          { topic: SENML, count: 4 },
          { topic: 'wetdown/larch-cove/end-a/status', count: 2 },
          { topic: 'wetdown/larch-cove/simulation', count: 2 },
        ],
      });
      expect(shown!.picture.simulated).toBe(false);
      expect(Math.abs(shown!.picture.atMs - Date.now()), 'the wall is the clock').toBeLessThan(5_000);
      expect(shown!.feed.devices.find((one) => one.device === 'end-a')).toMatchObject({ online: null, packets: 0 });
      expect(rows('select simulated, (select count(*) from reading) as readings from run')).toEqual([
        { simulated: 0, readings: 0 },
      ]);
      if (round === 2) break;
      clearInterval(ticker);
      loop.close();
      rmSync(folder, { recursive: true, force: true });
      folder = mkdtempSync(join(tmpdir(), 'wetdown-door-'));
      startLoop();
    }
  });

  it('are taken of the simulator that was started here, and of no other', async () => {
    const account = new SimulatorAccount();
    await start({ isSimulator: (user, password) => account.is(user, password) }, 'bundled');
    const stranger = await device({ username: ':simulator', password: 'guessed' });
    for (const [topic, payload] of SENT) await stranger.publishAsync(topic, payload, { qos: 1 });
    await until(() => rowOf('ingest/simulated')?.count === 4);
    expect([shown!.picture.simulated, rows('select * from reading')]).toEqual([false, []]);
    const own = await connectAsync(account.addressOf(broker.url), { reconnectPeriod: 0 });
    clients.push(own);
    await own.publishAsync(SENML, PACK, { qos: 1 });
    await until(() => shown!.picture.simulated && shown!.picture.channels.some(({ value }) => value === 7));
    await stranger.publishAsync(SENML, JSON.stringify([{ n: 'pressure', u: 'Pa', v: 9, simulated: true }]), { qos: 1 });
    await until(() => rowOf('ingest/simulated')?.count === 1);
    // A real packet in a simulated run is taken, and never makes it look real.
    await stranger.publishAsync(SENML, pack(400_000), { qos: 1 });
    await stranger.publishAsync('wetdown/larch-cove/end-a/status', '{"online":true}', { qos: 1 });
    await until(() => shown!.picture.channels.some(({ value }) => value === 400_000));
    expect([shown!.picture.simulated, rows('select simulated from run')]).toEqual([true, [{ simulated: 1 }]]);
    expect(rows('select value from reading order by packet')).toEqual([{ value: 7 }, { value: 400_000 }]);
  });

  it('of anybody are taken where that was asked for; a retained one begins nothing', async () => {
    await start({}, 'anybody');
    for (const [topic, payload] of SENT) loop.packet({ topic, payload: Buffer.from(payload), retained: true });
    await until(() => rowOf('ingest/simulated')?.count === 4);
    expect([shown!.picture.simulated, rows('select * from reading')]).toEqual([false, []]);
    const client = await device();
    await client.publishAsync('wetdown/larch-cove/end-a/status', STATUS, { qos: 1 });
    await until(() => shown!.picture.simulated);
    await client.publishAsync(SENML, PACK, { qos: 1 });
    await until(() => shown!.picture.channels.some(({ value }) => value === 7));
    expect(shown!.feed.devices.find((one) => one.device === 'end-a')).toMatchObject({ online: true, packets: 1 });
  });
});
