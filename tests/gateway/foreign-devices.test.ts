/**
 * A site whose file maps all kinds of foreign devices, on a gateway as people start it, spoken to by a client that is
 * not ours.
 */
import { encode } from 'cborg';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { sparkplugPayload } from '../ingest/sparkplug-packet.ts';
import { aFreePort, startGateway, until, type GatewayProcess } from '../support/gateway-process.ts';
import { findProgram, missing } from '../support/machine.ts';

type Shown = { readonly picture: Picture; readonly feed: FeedPicture };

describe.skipIf(missing('mosquitto_pub'))('foreign devices', () => {
  let folder = '';
  let port = 0;
  let gateway: GatewayProcess;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'wetdown-foreign-'));
    port = await aFreePort();
    const examples = readdirSync('config/mappings').map(
      (name) => readFileSync(join('config/mappings', name), 'utf8').split(/^mappings:\n/m)[1] ?? '',
    );
    const site = join(folder, 'larch-cove.yaml');
    writeFileSync(site, `${readFileSync('config/sites/larch-cove.yaml', 'utf8')}\nmappings:\n${examples.join('')}`);
    gateway = await startGateway([
      '--site',
      site,
      '--no-simulator',
      '--broker-port',
      String(port),
      '--port',
      String(await aFreePort()),
      '--data',
      join(folder, 'data'),
    ]);
    await until(async () => (await shown()).feed.broker.state === 'connected');
  });
  afterAll(async () => {
    await gateway.stop('SIGTERM');
    rmSync(folder, { recursive: true, force: true });
  });

  async function shown(): Promise<Shown> {
    return until(async () => {
      const answer = await fetch(`${gateway.address}/api/picture`);
      return answer.ok ? ((await answer.json()) as Shown) : null;
    });
  }

  function publish(topic: string, payload: string | Uint8Array): void {
    const file = join(folder, 'payload');
    writeFileSync(file, payload);
    execFileSync(findProgram('mosquitto_pub') ?? '', [
      '-h',
      '127.0.0.1',
      '-p',
      String(port),
      '-q',
      '1',
      '-t',
      topic,
      '-f',
      file,
    ]);
  }

  const channel = async (id: string): Promise<Picture['channels'][number]> =>
    (await shown()).picture.channels.find((one) => one.channel === id)!;

  it('are read from flat JSON, plain text, uplinks, rows, CBOR and Sparkplug', async () => {
    const nowMs = Date.now();
    publish('orchard/end-a/measured', JSON.stringify({ p_bar: 4.12, bat_mv: 3710, at: nowMs / 1_000 - 1 }));
    publish(
      'lora/valley/node/END-B/up',
      JSON.stringify({
        node: 'END-B',
        heard: new Date(nowMs - 500).toISOString(),
        decoded: { loop_ma: 9.6 },
        battery: 84,
      }),
    );
    publish('shed/pump-box/tank-percent', '50');
    publish('logger/ridge/batch', JSON.stringify({ rows: [[nowMs - 1_000, 41_260, '31']] }));
    publish(
      'wetdown/larch-cove/end-c/senml',
      encode([
        new Map<number, unknown>([
          [0, 'pressure'],
          [1, 'kPa'],
          [2, 377],
        ]),
      ]),
    );
    publish(
      'spBv1.0/hillside/NBIRTH/pump-node',
      sparkplugPayload(
        0,
        [
          { name: 'bdSeq', datatype: 4, long: 1n },
          { name: 'Engine/Speed', alias: 1, datatype: 7, int: 4_200 },
        ],
        nowMs,
      ),
    );
    expect(await until(async () => (await channel('speed')).value)).toBe(70);
    const values = await Promise.all(
      ['end-a-pressure', 'end-b-pressure', 'discharge', 'air', 'end-c-pressure'].map(async (id) =>
        Math.round((await channel(id)).value ?? Number.NaN),
      ),
    );
    expect(values).toEqual([412_000, 350_000, 312_600, 31, 377_000]);
    const { feed } = await shown();
    expect(
      feed.devices.filter(({ battery }) => battery !== null).map(({ device, battery }) => [device, battery]),
    ).toEqual([
      ['end-a', { volts: 3.71 }],
      ['end-b', { share: 0.84 }],
    ]);
    expect([feed.rejected, (await channel('level')).freshness]).toEqual([[], 'fresh']);
  });

  it('that die are unknown at once, long before their readings are old', async () => {
    publish('spBv1.0/hillside/NDATA/pump-node', sparkplugPayload(1, [{ alias: 1, int: 4_260 }], Date.now()));
    expect(await until(async () => (await channel('speed')).value === 71 && (await channel('speed')).freshness)).toBe(
      'fresh',
    );
    publish('spBv1.0/hillside/NDEATH/pump-node', sparkplugPayload(null, [{ name: 'bdSeq', long: 1n }]));
    const dead = await until(async () => {
      const now = await channel('speed');
      return now.freshness === 'stale' && now;
    });
    expect(dead.value).toBe(71);
    expect((await shown()).feed.devices.find(({ device }) => device === 'pump-box')?.online).toBe(false);
  });
});
