/** `npm start` as a newcomer runs it: live simulated readings at the printed address, and nothing left after Ctrl-C. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import type { LiveMessage } from '../../config/wire/live.ts';
import { aFreePort, LAUNCHER, startGateway, until } from '../support/gateway-process.ts';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-start-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it('shows live simulated readings, and ends with all it started', async () => {
  const brokerPort = await aFreePort();
  const gateway = await startGateway(
    ['--data', folder, '--broker-port', String(brokerPort), '--port', String(await aFreePort()), '--speed', '5'],
    LAUNCHER,
  );
  const messages: LiveMessage[] = [];
  const socket = new WebSocket(`${gateway.address.replace('http', 'ws')}/live`);
  socket.on('message', (data: Buffer) => void messages.push(JSON.parse(data.toString()) as LiveMessage));
  const newest = await until(() => {
    const message = messages.findLast(({ type }) => type === 'picture');
    return (
      message?.type === 'picture' && message.picture.channels.every(({ freshness }) => freshness === 'fresh') && message
    );
  });
  expect(messages[0]?.type).toBe('site');
  expect(
    messages.every(
      (message) => message.type === 'site' || (message.type === 'values' ? message : message.picture).simulated,
    ),
  ).toBe(true);
  expect(newest.feed).toMatchObject({ rejected: [], unknownDevices: [], journal: { state: 'writing' } });
  expect(newest.feed.devices.every(({ online }) => online === true)).toBe(true);
  socket.terminate();
  expect(await gateway.stop('SIGINT')).toBe(0);
  const left = execFileSync('ps', ['-eo', 'args'], { encoding: 'utf8' })
    .split('\n')
    .filter((line) => line.includes(`:${brokerPort}`) || line.includes(folder));
  expect(left).toEqual([]);
});
