/**
 * The whole way as people go it: a site is watched and looked back on meanwhile, ended, and its record played back by
 * name.
 */
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import type { Review } from '../../config/wire/review.ts';
import type { ReplayState } from '../../config/wire/replay.ts';
import type { LiveMessage } from '../../config/wire/live.ts';
import { aFreePort, runToItsEnd, startGateway, until } from '../support/gateway-process.ts';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-replay-process-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function json<Body>(address: string, init: RequestInit = {}): Promise<Body> {
  return (await (await fetch(address, init)).json()) as Body;
}

it('watches, looks back while it watches, and plays the record back', async () => {
  const port = String(await aFreePort());
  const live = await startGateway(['--scenario', 'running', '--speed', '20', '--port', port, '--data', folder]);
  await until(async () =>
    (await json<Partial<Review>>(`${live.address}/api/review`)).figures?.upTimes.some(({ upS }) => upS > 20),
  );
  const seen = await json<Review>(`${live.address}/api/review`);
  expect([seen.simulated, seen.replay]).toEqual([true, false]);
  const told = {
    by: 'QR',
    what: 'note',
    at: null,
    fromMs: seen.figures.toMs,
    toMs: null,
    words: 'while it runs',
    replaces: null,
  };
  expect(
    (
      await fetch(`${live.address}/api/review/truth`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify(told),
      })
    ).status,
  ).toBe(200);
  expect((await fetch(`${live.address}/api/replay`)).status).toBe(404);
  expect(await live.stop('SIGTERM')).toBe(0);

  const run = basename(
    readdirSync(folder).find((name) => name === `${seen.run}.sqlite`)!,
    '.sqlite',
  );
  const replay = await startGateway(['--replay', run, '--port', port, '--data', folder]);
  expect(replay.output()).toMatch(/^replay: .*\(SIMULATION\)$/m);
  const picture = await json<Extract<LiveMessage, { type: 'picture' }>>(`${replay.address}/api/picture`);
  expect([picture.replay?.run, picture.picture.simulated]).toEqual([run, true]);
  const order = await json<ReplayState>(`${replay.address}/api/replay`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ do: 'rules', rules: 'today' }),
  });
  expect(order.rerun.name).toBe('working');
  const done = await until(async () => {
    const state = await json<ReplayState>(`${replay.address}/api/replay`);
    return state.rerun.name === 'done' && state;
  });
  expect(done).toMatchObject({ rules: 'today', rerun: { differences: 0 } });
  expect((await json<Review>(`${replay.address}/api/review`)).timeline.truth.map(({ words }) => words)).toEqual([
    'while it runs',
  ]);
  expect(await replay.stop('SIGINT')).toBe(0);

  const wrong = await runToItsEnd(['--replay', 'no-such-run', '--data', folder]);
  expect([wrong.code, wrong.output]).toEqual([2, 'There is no record no-such-run.\n']);
}, 90_000);
