/**
 * An entry while the disk fails, or while the gateway works through its record: what is answered, what the feed says
 * after, and what a restart knows of it. Over HTTP, on the real run loop and journal.
 */
import { cpSync, mkdtempSync, renameSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Entry, EntryAnswer } from '../../config/wire/entry.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { buildServer, type Server } from '../../gateway/server/app.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout, text } = demoSite();
const GATE = { kind: 'gate', by: 'ab', gate: 'thief-c', opening: 0 } as const satisfies Entry;

let folder = '';
let away = '';
let wallMs = 1_790_000_000_000;
let server: Server | null = null;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-entry-'));
  away = `${folder}-away`;
});
afterEach(async () => {
  await server?.app.close();
  for (const path of [folder, away]) rmSync(path, { recursive: true, force: true });
});

async function start(data = folder): Promise<RunLoop> {
  await server?.app.close();
  const loop = new RunLoop({
    layout,
    layoutText: text,
    software: 'test',
    bundledSimulator: false,
    broker: '',
    wallMs: () => wallMs,
    makeWatch: createWatch,
    openJournal: (facts, patient) => Journal.open(data, facts, patient),
    restarted: () => undefined,
    show: () => undefined,
  });
  server = await buildServer({
    layout,
    build: 'test',
    screen: join(folder, 'none'),
    loopbackOnly: true,
    door: null,
    told: () => undefined,
    tls: null,
    run: () => loop.run,
    latest: () => loop.latest,
    series: () => null,
    enter: (entry, role) => loop.enter(entry, role),
  });
  return loop;
}

async function post(entry: Entry): Promise<{ status: number; body: EntryAnswer }> {
  const answer = await server!.app.inject({
    method: 'POST',
    url: '/api/entries',
    headers: { host: 'localhost' },
    payload: entry,
  });
  return { status: answer.statusCode, body: answer.json() };
}

function pass(loop: RunLoop, seconds: number): void {
  for (let second = 0; second < seconds; second += 1) {
    wallMs += 1_000;
    loop.packet({
      topic: `wetdown/${layout.site}/pump-box/senml`,
      payload: Buffer.from(JSON.stringify([{ n: 'discharge', u: 'Pa', v: 7e5 + second }])),
      retained: false,
    });
    loop.tick();
  }
}

const openingOf = (loop: RunLoop): number | undefined =>
  loop.latest?.picture.gates.find(({ gate }) => gate === 'thief-c')?.opening;
const entriesIn = (loop: RunLoop) => loop.latest!.feed.journal.entries;

describe('an entry while the disk fails', () => {
  it('takes effect, and is answered as not on disk yet, until the disk writes again', async () => {
    const loop = await start();
    pass(loop, 2);
    expect(await post(GATE)).toEqual({ status: 200, body: { ok: true } });
    pass(loop, 1);
    expect(entriesIn(loop)).toMatchObject({ taken: 1, written: 1 });
    renameSync(folder, away);
    pass(loop, 1);
    const { status, body } = await post({ ...GATE, opening: 0.5 });
    expect(status).toBe(202);
    expect(body.words).toBe(
      'Taken for now, but not on disk yet: the disk fails. It is lost if the gateway stops before the ' +
        'disk writes again. Write it down on paper too.',
    );
    pass(loop, 2);
    const { session } = entriesIn(loop);
    expect([openingOf(loop), entriesIn(loop), body.waits]).toEqual([
      0.5,
      { session, taken: 2, written: 1 },
      { session, number: 2 },
    ]);
    // Refused: nothing of it waits.
    expect((await post({ kind: 'acknowledge', by: 'ab', alarm: 'none' })).status).toBe(422);
    pass(loop, 1);
    expect(entriesIn(loop)).toEqual({ session, taken: 2, written: 1 });
    renameSync(away, folder);
    pass(loop, 40);
    expect([loop.latest!.feed.journal.state, entriesIn(loop)]).toEqual(['writing', { session, taken: 2, written: 2 }]);
    expect(await post({ ...GATE, opening: 1 })).toEqual({ status: 200, body: { ok: true } });
    loop.close();
  });

  it('that is the first to find the disk failing is not called noted either', async () => {
    const loop = await start();
    pass(loop, 2);
    renameSync(folder, away);
    expect((await post(GATE)).status).toBe(202);
    loop.close();
  });

  it('that is refused, with what was seen noted all the same, says that this is not on disk either', async () => {
    const loop = await start();
    pass(loop, 2);
    const some: Entry = { kind: 'baseline', by: 'ab', headsSeenTurning: [layout.heads[0]!.id] };
    const before = loop.enter(some);
    expect(before).toMatch(/^Noted what was seen\. No baseline yet/);
    renameSync(folder, away);
    pass(loop, 1);
    expect(loop.enter(some)).toBe(
      `${before as string} But it is not on disk yet: the disk fails, and it is lost if the gateway ` +
        'stops before the disk writes again.',
    );
    loop.close();
  });

  it('is claimed by nobody after the gateway was killed before', async () => {
    const loop = await start();
    pass(loop, 5);
    renameSync(folder, away);
    const { body } = await post(GATE);
    pass(loop, 1);
    expect(openingOf(loop)).toBe(0);
    const left = `${folder}-left`;
    cpSync(away, left, { recursive: true, filter: (path) => !/(\.lock|-shm)$/.test(path) });
    const next = await start(left);
    pass(next, 5);
    expect(next.run.name).toBe(loop.run.name);
    const { session, ...counts } = entriesIn(next);
    expect([openingOf(next), counts]).toEqual([
      layout.gates.find(({ id }) => id === 'thief-c')!.opening,
      { taken: 0, written: 0 },
    ]);
    expect(session).not.toBe(body.waits!.session);
    next.close();
    loop.close();
    rmSync(left, { recursive: true });
  });

  it('belongs to no later journal when the run ends before it could be written', async () => {
    const loop = await start();
    pass(loop, 2);
    renameSync(folder, away);
    const { body } = await post(GATE);
    wallMs -= 3_600_000;
    loop.tick();
    pass(loop, 2);
    expect(entriesIn(loop).session).not.toBe(body.waits!.session);
    loop.close();
  });
});

describe('an entry while the gateway works through its record', () => {
  async function restarted(): Promise<RunLoop> {
    const before = await start();
    pass(before, 5);
    before.close();
    wallMs += 1_000;
    return start();
  }

  it('is taken, and takes effect once it has caught up', async () => {
    const loop = await restarted();
    const { status, body } = await post(GATE);
    expect([status, body]).toEqual([
      200,
      {
        ok: true,
        words:
          'Noted in the record. The gateway was started again and works through what was before. It ' +
          'takes effect in a moment.',
      },
    ]);
    pass(loop, 3);
    expect(openingOf(loop)).toBe(0);
    loop.close();
  });

  it('and the disk fails is both', async () => {
    const loop = await restarted();
    renameSync(folder, away);
    const { status, body } = await post(GATE);
    expect([status, body.words]).toEqual([
      202,
      expect.stringMatching(/^Taken for now, but not on disk yet: .* It takes effect once it is on disk\.$/),
    ]);
    renameSync(away, folder);
    pass(loop, 40);
    expect([openingOf(loop), entriesIn(loop)]).toMatchObject([0, { taken: 1, written: 1 }]);
    loop.close();
  });
});
