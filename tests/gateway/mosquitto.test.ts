/**
 * The gateway on a broker that is not its own: the documented packet becomes a reading, a malformed one is counted with
 * why.
 */
import { execFileSync, spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { aFreePort, startGateway, until, type GatewayProcess } from '../support/gateway-process.ts';
import { findProgram, missing } from '../support/machine.ts';

type Shown = { readonly picture: Picture; readonly feed: FeedPicture };

describe.skipIf(missing('mosquitto', 'mosquitto_pub'))('with mosquitto', () => {
  let folder = '';
  let port = 0;
  let broker: ChildProcess;
  let gateway: GatewayProcess;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'wetdown-mosquitto-'));
    port = await aFreePort();
    writeFileSync(
      join(folder, 'mosquitto.conf'),
      `listener ${port} 127.0.0.1\nallow_anonymous true\npersistence false\n`,
    );
    broker = spawn(findProgram('mosquitto') ?? '', ['-c', join(folder, 'mosquitto.conf')], { stdio: 'ignore' });
    gateway = await startGateway([
      '--broker',
      `mqtt://127.0.0.1:${port}`,
      '--no-simulator',
      '--port',
      String(await aFreePort()),
      '--data',
      join(folder, 'data'),
    ]);
    await until(async () => (await shown()).feed.broker.state === 'connected');
  });
  afterAll(async () => {
    await gateway.stop('SIGTERM');
    broker.kill();
    rmSync(folder, { recursive: true, force: true });
  });

  async function shown(): Promise<Shown> {
    return until(async () => {
      const answer = await fetch(`${gateway.address}/api/picture`);
      return answer.ok ? ((await answer.json()) as Shown) : null;
    });
  }

  function publish(payload: string, ...more: readonly string[]): void {
    execFileSync(findProgram('mosquitto_pub') ?? '', [
      '-h',
      '127.0.0.1',
      '-p',
      String(port),
      '-q',
      '1',
      '-t',
      'wetdown/larch-cove/pump-box/senml',
      '-m',
      payload,
      ...more,
    ]);
  }

  const valueOf = async (channel: string): Promise<number | null> =>
    (await shown()).picture.channels.find((candidate) => candidate.channel === channel)?.value ?? null;

  it('a published pack is a reading', async () => {
    publish('[{"bn":"pump-box:","n":"discharge","u":"kPa","v":812.5},{"n":"flow","u":"l/min","v":212}]');
    expect(await until(() => valueOf('discharge'))).toBe(812_500);
    expect(await valueOf('flow')).toBeCloseTo(212e-3 / 60, 12);
    expect((await shown()).picture.simulated).toBe(false);
  });

  it('a malformed one is counted with its reason and its place', async () => {
    publish('[{"n":"discharge","u":"kPa","v":"812,5"}]');
    publish('not even json');
    const { feed } = await until(async () => {
      const now = await shown();
      return now.feed.rejected.length === 2 && now;
    });
    expect(feed.rejected).toMatchObject([
      {
        reason: 'ingest/not-a-number',
        count: 1,
        topic: 'wetdown/larch-cove/pump-box/senml',
        detail: expect.stringContaining('812,5') as string,
      },
      { reason: 'ingest/not-json', count: 1 },
    ]);
  });

  it('a device that nobody knows lands in the tray', async () => {
    publish('[{"n":"x","u":"Pa","v":1}]', '-t', 'wetdown/larch-cove/new-box/senml');
    expect(
      await until(async () => (await shown()).feed.unknownDevices.find(({ device }) => device === 'new-box')),
    ).toMatchObject({ packet: '[{"n":"x","u":"Pa","v":1}]' });
  });
});
