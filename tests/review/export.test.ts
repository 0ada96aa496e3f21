/**
 * What is taken away: no formula runs, every file says SIMULATED, sums are right, and a copy without names has none.
 */
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { TruthTold } from '../../config/wire/truth.ts';
import type { Replay } from '../../gateway/launch/replay-start.ts';
import { localText } from '../../gateway/review/clock-text.ts';
import { csvText } from '../../gateway/review/csv.ts';
import { until } from '../support/gateway-process.ts';
import { recordRun, type Recorded } from '../support/recorded-run.ts';
import { replayed } from '../support/replayed-run.ts';

const PNG = Buffer.from('89504e470d0a1a0a0000000d49484452', 'hex');
let folder = '';
let recorded: Recorded;
let replay: Extract<Replay, { ok: true }>;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-export-'));
  recorded = recordRun(folder, {
    seconds: 240,
    silent: [170, 190],
    deeds: {
      60: (run) => void run.baseline(),
      90: (run) => run.start('head-off', 'a-3'),
      150: (run) => run.repair('head-off', 'a-3'),
      160: (run) =>
        void run.enter({ kind: 'note', by: '=QR', words: '=HYPERLINK("http://x","Quentin at the boat house")' }),
    },
  });
  replay = await replayed(recorded.path, folder);
  const told: TruthTold = {
    by: 'Zed9',
    what: 'head-off',
    at: 'a-3',
    fromMs: recorded.shown[88]!.atMs,
    toMs: recorded.shown[150]!.atMs,
    words: '@found by Quentin',
    replaces: null,
  };
  const answer = await replay.server.app.inject({ method: 'POST', url: '/api/review/truth', payload: told });
  await replay.server.app.inject({
    method: 'POST',
    url: `/api/review/truth/${answer.json<{ number: number }>().number}/photo`,
    payload: PNG,
    headers: { 'content-type': 'image/png' },
  });
}, 60_000);
afterAll(async () => {
  await replay.stop();
  rmSync(folder, { recursive: true, force: true });
});

async function get(
  path: string,
): Promise<{ text: string; bytes: Buffer; headers: Record<string, unknown>; status: number }> {
  const answer = await replay.server.app.inject(`/api/review/export/${path}`);
  return { text: answer.payload, bytes: answer.rawPayload, headers: answer.headers, status: answer.statusCode };
}

function unpacked(bytes: Buffer, name: string): Map<string, Buffer> {
  const into = join(folder, name);
  mkdirSync(into);
  writeFileSync(join(folder, `${name}.tar.gz`), bytes);
  execFileSync('tar', ['-xzf', join(folder, `${name}.tar.gz`), '-C', into]);
  const paths = (readdirSync(into, { recursive: true }) as string[]).filter((path) =>
    statSync(join(into, path)).isFile(),
  );
  return new Map(paths.map((path) => [path, readFileSync(join(into, path))]));
}

describe('a CSV cell', () => {
  it.each([
    ['=1+1', `"'=1+1"`],
    ['+1', `"'+1"`],
    ['-1', `"'-1"`],
    ['@SUM(A1)', `"'@SUM(A1)"`],
    ['\t=1', `"'\t=1"`],
    ['\r=1', `"'\r=1"`],
    ['＝1', `"'＝1"`],
    ['a "quoted", word', '"a ""quoted"", word"'],
    [-1.5, '-1.5'],
    [null, ''],
    [Number.NaN, ''],
    [true, '"yes"'],
    ['plain=1', '"plain=1"'],
  ])('%j is written %s', (cell, written) => expect(csvText({ header: [], rows: [[cell]] })).toBe(`\r\n${written}\r\n`));

  it('ends its line as the standard says', () =>
    expect(csvText({ header: ['a'], rows: [[1], ['b']] })).toBe('"a"\r\n1\r\n"b"\r\n'));
});

describe('local time', () => {
  it('has its offset, also over the change of the clocks, and is left out where there is no zone', () => {
    expect(localText(Date.UTC(2026, 6, 14, 20, 0, 0), 'America/Denver')).toBe('2026-07-14T14:00:00.000-06:00');
    expect(localText(Date.UTC(2026, 10, 1, 8, 30), 'America/Denver')).toBe('2026-11-01T01:30:00.000-07:00');
    expect(localText(Date.UTC(2026, 10, 1, 7, 30), 'America/Denver')).toBe('2026-11-01T01:30:00.000-06:00');
    expect([localText(0, 'UTC'), localText(0, null)]).toEqual(['1970-01-01T00:00:00.000+00:00', null]);
  });
});

describe('tables', () => {
  it('say where they come from in every row and run no formula', async () => {
    const tables = JSON.parse((await get('tables')).text) as { name: string; rows: number }[];
    expect(tables.map(({ name }) => name)).toEqual(
      expect.arrayContaining(['alarms', 'deeds', 'truth', 'availability', 'zones', 'alarm-load', 'data-quality']),
    );
    for (const { name, rows } of tables) {
      const { text, headers } = await get(`csv/${name}.csv`);
      const lines = text.split('\r\n').slice(1, -1);
      expect(lines.length).toBe(rows);
      expect(lines.every((line) => line.startsWith('"EXERCISE, SIMULATED, REPLAY'))).toBe(true);
      expect(text.split('\r\n')[0]!.endsWith(',"Advisory only. Sees no fire. Never go because of a reading."')).toBe(
        true,
      );
      expect(text).not.toMatch(/(^|,|\n)"[=+@-]/);
      expect(headers['content-disposition']).toMatch(/filename="SIMULATED-REPLAY-larch-cove/);
    }
    expect((await get('csv/deeds.csv')).text).toContain(`"'=QR"`);
    expect((await get('csv/none.csv')).status).toBe(404);
  });
});

describe('the page to print', () => {
  it('stands alone: no script, nothing from elsewhere, its own style by hash, SIMULATED and REPLAY at head and foot', async () => {
    const { text, headers } = await get('report.html');
    expect(text).not.toMatch(/<script|<link|<img|<iframe|javascript:|\son\w+=|@import|url\((?!#)|href=|src=/i);
    expect(text.match(/https?:[^"\s<]+/g)?.filter((address) => !address.startsWith('http://www.w3.org/'))).toEqual([]);
    expect(text.split('class="mark">EXERCISE, SIMULATED, REPLAY').length).toBe(3);
    expect(text).toContain('<title>REPLAY · SIMULATED');
    const style = /<style>([\s\S]*)<\/style>/.exec(text)![1]!;
    expect(headers['content-security-policy']).toContain(
      `style-src 'sha256-${createHash('sha256').update(style).digest('base64')}'`,
    );
    expect(text.match(/<svg/g)?.length).toBe(2);
  });
});

describe('the bundle', () => {
  it('is made for one at a time, and no longer when the one goes away', async () => {
    const address = await replay.server.app.listen({ host: '127.0.0.1', port: 0 });
    const stop = new AbortController();
    // Nobody reads the body: the archive waits where the buffers are full.
    const first = await fetch(`${address}/api/review/export/bundle.tar.gz`, { signal: stop.signal });
    expect(first.status).toBe(200);
    stop.abort();
    await until(async () => (await get('bundle.tar.gz')).status === 200);
  });

  it('unpacks with any tar, has right sums, says SIMULATED in every file that is read', async () => {
    const files = unpacked((await get('bundle.tar.gz')).bytes, 'named');
    const sums = files
      .get('SHA256SUMS')!
      .toString()
      .trim()
      .split('\n')
      .map((line) => line.split('  '));
    expect(sums.map(([, path]) => path).sort()).toEqual(
      [...files.keys()].filter((path) => path !== 'SHA256SUMS').sort(),
    );
    for (const [sum, path] of sums) expect(createHash('sha256').update(files.get(path!)!).digest('hex')).toBe(sum);
    for (const [path, bytes] of files)
      if (/\.(csv|json|ndjson|html|txt)$/.test(path)) {
        const text = bytes.toString();
        if (text.split('\n').length > 2) expect(`${path} ${text.includes('EXERCISE')}`).toBe(`${path} true`);
        if (text.split('\n').length > 2) expect(`${path} ${text.includes('SIMULATED')}`).toBe(`${path} true`);
        if (text !== '')
          expect(`${path} ${text.includes('Advisory only. Sees no fire. Never go because of a reading.')}`).toBe(
            `${path} true`,
          );
      }
    expect(files.get('readings/flow.csv')!.toString().split('\r\n').length).toBe(1 + 220 + 1);
    expect(files.get('layout.yaml')!.toString()).toContain('name: Larch Cove');
    expect([...files.keys()].some((path) => path.startsWith('photos/'))).toBe(true);
    expect(JSON.parse(files.get('look-back.json')!.toString())).toMatchObject({
      run: recorded.run,
      figures: { upTimes: expect.any(Array) as unknown[] },
    });
  });

  it('has no name, place, initial, typed word, photo or zone in the copy that removes them', async () => {
    const files = unpacked((await get('bundle.tar.gz?names=removed')).bytes, 'nameless');
    const all = [...files]
      .filter(([path]) => path !== 'SHA256SUMS')
      .map(([path, bytes]) => `${path}\n${bytes.toString()}`)
      .join('\n');
    const { layout } = recorded;
    const parts = [layout.sources, layout.structures, layout.lines, layout.heads, layout.gates, layout.places].flat();
    const told = [
      layout.name,
      layout.site,
      layout.timeZone,
      recorded.run,
      'Quentin',
      'Zed9',
      'QR',
      'HYPERLINK',
      ...parts.map(({ label }) => label).filter((label) => label.length > 4),
    ];
    expect(told.filter((word) => all.toLowerCase().includes(word.toLowerCase()))).toEqual([]);
    expect(
      [...files.keys()].filter(
        (path) => path.startsWith('photos/') || path === 'layout.yaml' || path === 'verdicts.ndjson',
      ),
    ).toEqual([]);
    expect(all).toContain('SIMULATED');
    expect(all).toMatch(/"(head off|leak): line 1"/);
  });
});
