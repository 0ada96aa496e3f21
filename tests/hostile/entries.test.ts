/** Fuzzed entries over HTTP: nothing fails inside, nothing is entered that is not an entry, no prototype is touched. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Entry } from '../../config/wire/entry.ts';
import { buildServer, type Server } from '../../gateway/server/app.ts';
import { demoSite } from '../support/demo-site.ts';
import { dieOf, harm } from './mutations.ts';

const BODIES = 3_000;
const VALID = [
  { kind: 'note', by: 'ab', words: 'tender is back' },
  { kind: 'gate', by: 'ab', gate: 'thief-a', opening: 0.5 },
  { kind: 'mode', by: 'ab', mode: 'filling', minutes: 10 },
  { kind: 'baseline', by: 'ab', headsSeenTurning: ['a-1', 'a-2'] },
  { kind: 'acknowledge', by: 'ab', alarm: 'x' },
  { kind: 'looked', by: 'ab', at: 'a-1', found: 'leak' },
].map((entry) => JSON.stringify(entry));
const MEMBERS: Readonly<Record<string, number>> = { note: 3, gate: 4, mode: 4, baseline: 3, acknowledge: 3, looked: 4 };

describe('fuzzed entries', () => {
  const entered: Entry[] = [];
  let server: Server;
  beforeAll(async () => {
    server = await buildServer({
      layout: demoSite().layout,
      build: 'test',
      screen: '/nowhere',
      loopbackOnly: true,
      door: null,
      told: () => undefined,
      tls: null,
      run: () => ({ name: 'r', startedMs: 0 }),
      latest: () => null,
      series: () => null,
      enter: (entry) => {
        entered.push(entry);
        return null;
      },
    });
  });
  afterAll(() => server.app.close());

  it('are refused or are entries, and the server never fails', async () => {
    const die = dieOf(9_003);
    const statuses = new Map<number, number>();
    for (let body = 0; body < BODIES; body += 1) {
      const { payload } = harm({ topic: 'a/b/c/d', payload: Buffer.from(VALID[body % VALID.length]!) }, die);
      const headers = { host: '127.0.0.1', 'content-type': 'application/json' };
      const { statusCode } = await server.app.inject({
        method: 'POST',
        url: '/api/entries',
        headers,
        payload: Buffer.from(payload),
      });
      statuses.set(statusCode, (statuses.get(statusCode) ?? 0) + 1);
    }
    expect([...statuses.keys()].filter((status) => ![200, 400, 413, 422].includes(status))).toEqual([]);
    expect(statuses.get(400)).toBeGreaterThan(1_000);
    for (const entry of entered)
      expect([entry.kind, Object.keys(entry).length, typeof entry.by]).toEqual([
        entry.kind,
        MEMBERS[entry.kind],
        'string',
      ]);
    expect(Object.keys(Object.prototype)).toEqual([]);
  });

  it.each([
    '/api/series?channel=__proto__&from=0&to=1',
    '/api/series?channel[]=a&from=0&to=1',
    '/api/series?channel=a&from=1e999&to=2',
    `/api/series?channel=${'a'.repeat(8_000)}&from=0&to=1`,
    '/api/series?channel=%00&from=0&to=1',
    '/%E0%A4%A',
    '/..%2f..%2fpackage.json',
    '/assets/..%5c..%5cpackage.json',
  ])('the address %s is answered with a refusal', async (url) => {
    const { statusCode } = await server.app.inject({ url, headers: { host: '127.0.0.1' } });
    expect([400, 403, 404, 414, 422, 431]).toContain(statusCode);
  });
});
