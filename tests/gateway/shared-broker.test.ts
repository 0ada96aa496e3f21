/**
 * A broker outside that carries other sites too: near misses of our topics are seen, what others say is not counted,
 * and an oversize packet holds up nothing that comes behind it.
 */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import { openMqttSource, type MqttSource } from '../../gateway/ingest/transport/mqtt-source.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { demoSite } from '../support/demo-site.ts';
import { until } from '../support/gateway-process.ts';
import { missing } from '../support/machine.ts';
import { Mosquitto } from '../support/mosquitto.ts';

const { layout, text } = demoSite();
const SENML = 'wetdown/larch-cove/end-a/senml';

describe.skipIf(missing('mosquitto'))('a broker that others share', () => {
  const folder = mkdtempSync(join(tmpdir(), 'wetdown-shared-'));
  let broker: Mosquitto;
  let source: MqttSource;
  let loop: RunLoop;
  let feed: FeedPicture | null = null;
  let ticker: NodeJS.Timeout;
  let client: MqttClient;

  beforeAll(async () => {
    broker = await Mosquitto.start(folder, ['persistence false']);
    loop = new RunLoop({
      layout,
      layoutText: text,
      software: 'test',
      bundledSimulator: false,
      simulatedFrom: 'nobody',
      broker: '',
      wallMs: () => Date.now(),
      makeWatch: createWatch,
      openJournal: (facts, patient) => new Journal(folder, facts, patient),
      restarted: () => undefined,
      show: (_picture, now) => void (feed = now),
    });
    source = openMqttSource(`mqtt://127.0.0.1:${broker.port}`, layout.site, 'shared', {
      packet: (packet) => loop.packet(packet),
      state: (state) => loop.connection(state),
    });
    ticker = setInterval(() => loop.tick(), 50);
    client = await connectAsync(`mqtt://127.0.0.1:${broker.port}`);
    await until(() => feed?.broker.state === 'connected');
    // The connection for near misses is one of its own.
    await until(async () => {
      await client.publishAsync('wetdown/larch-cove/end-a/first', 'x', { qos: 1 });
      return (rowOf('ingest/bad-topic')?.count ?? 0) > 0;
    });
  });
  afterAll(async () => {
    clearInterval(ticker);
    await client.endAsync(true);
    await source.close();
    await broker.stop();
    loop.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const rowOf = (reason: string): FeedPicture['rejected'][number] | undefined =>
    feed?.rejected.find((row) => row.reason === reason);

  function rows(query: string): unknown[] {
    loop.flush();
    const database = new Database(join(folder, `${loop.run.name}.sqlite`), { readonly: true });
    try {
      return database.prepare(query).all();
    } finally {
      database.close();
    }
  }

  it('tells near misses with what would be right, once each, and says nothing of other sites', async () => {
    const others = ['wetdown/mill-lane/pump-box/senml', 'wetdown/mill-lane/simulation', 'wetdown/mill-lane/x/SenML'];
    const ours = ['wetdown/larch_cove/end-a/senml', 'wetdown/larch-cove/end-a/SenML', 'wetdown/larch-cove/senml'];
    for (const topic of [...others, ...ours]) await client.publishAsync(topic, '[]', { qos: 1 });
    await client.publishAsync(SENML, '[{"n":"pressure","u":"Pa","v":400000}]', { qos: 1 });
    const told = (): FeedPicture['rejected'][number]['topics'] => rowOf('ingest/bad-topic')?.topics;
    await until(() => ours.every((topic) => told()?.some((one) => one.topic === topic)));
    expect(ours.map((topic) => told()?.find((one) => one.topic === topic)?.count)).toEqual([1, 1, 1]);
    await until(() => rows('select value from reading').length === 1);
    const topics = new Map(rowOf('ingest/bad-topic')!.topics!.map(({ topic, hint }) => [topic, hint]));
    expect(ours.map((topic) => topics.get(topic))).toEqual([SENML, SENML, 'wetdown/larch-cove/DEVICE/senml']);
    expect(others.filter((topic) => topics.has(topic))).toEqual([]);
    expect(rows("select count(*) as n from packet where topic like 'wetdown/mill-lane/%'")).toEqual([{ n: 0 }]);
    expect(rows(`select count(*) as n from packet where topic = '${SENML}'`), 'one copy of each').toEqual([{ n: 1 }]);
  });

  it('hands on a hundred good packets behind one that is too large', async () => {
    const before = rows('select distinct value from reading').length;
    client.publish(SENML, Buffer.alloc(1_000_000, '[1] '), { qos: 1 });
    for (let number = 0; number < 100; number += 1)
      client.publish(SENML, JSON.stringify([{ n: 'pressure', u: 'Pa', v: 300_000 + number }]), { qos: 1 });
    await until(() => rows('select distinct value from reading').length === before + 100);
    expect(rows("select length(payload) as size from packet where verdict = 'ingest/too-large'")).toEqual([
      { size: 1_024 },
    ]);
    await until(() => rowOf('ingest/too-large'));
    expect(rowOf('ingest/too-large')).toMatchObject({
      count: 1,
      topics: [{ topic: SENML, count: 1 }],
      detail: expect.stringContaining('1000000 bytes, at most 262144') as string,
    });
  });
});
