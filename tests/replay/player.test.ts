/** A record played back: orders, marks on every picture, today's rules beside the old ones, entries refused. */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import type { ReplayOrder, ReplayState, ReplayDifference } from '../../config/wire/replay.ts';
import type { LiveMessage } from '../../config/wire/live.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { recordPath, startReplay } from '../../gateway/launch/replay-start.ts';
import { differencesOf } from '../../gateway/replay/differences.ts';
import { Player } from '../../gateway/replay/player.ts';
import { openRun } from '../../gateway/journal/run-reader.ts';
import { episodesOf } from '../../gateway/review/episodes.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { recordRun, type Recorded } from '../support/recorded-run.ts';
import { replayed } from '../support/replayed-run.ts';
import { until } from '../support/gateway-process.ts';

let folder = '';
let recorded: Recorded;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-player-'));
  recorded = recordRun(folder, {
    seconds: 240,
    deeds: {
      60: (run) => void run.baseline(),
      90: (run) => run.start('head-off', 'a-3'),
      150: (run) => run.repair('head-off', 'a-3'),
    },
  });
}, 60_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function player(): { readonly player: Player; readonly shown: { picture: Picture; replay: ReplayState }[] } {
  const opened = openRun(recorded.path);
  if (!opened.ok) throw new Error(opened.why);
  const shown: { picture: Picture; replay: ReplayState }[] = [];
  return {
    shown,
    player: new Player({
      layout: recorded.layout,
      record: opened.reader,
      software: 'test-2',
      makeWatch: createWatch,
      show: (picture, _feed, replay) => shown.push({ picture, replay }),
    }),
  };
}

describe('a player', () => {
  it('plays at the speed it is told, stands, steps and goes anywhere within the run', () => {
    const { player: one, shown } = player();
    const fromMs = one.state.fromMs;
    const seconds = (): number => (one.state.atMs - fromMs) / 1_000;
    one.tick(0);
    one.order({ do: 'play' });
    for (let wallMs = 100; wallMs <= 2_000; wallMs += 100) one.tick(wallMs);
    expect(seconds()).toBeCloseTo(2);
    one.order({ do: 'speed', speed: 60 });
    one.tick(2_500);
    expect(seconds()).toBeCloseTo(32);
    one.order({ do: 'step', seconds: -1 });
    expect([seconds(), one.state.playing]).toEqual([31, false]);
    one.tick(2_600);
    expect(seconds()).toBe(31);
    one.order({ do: 'go', atMs: fromMs - 5_000 });
    expect(seconds()).toBe(0);
    one.order({ do: 'go', atMs: fromMs + 1e9 });
    expect(one.state.atMs).toBe(one.state.toMs);
    const before = shown.length;
    one.tick(3_700);
    expect(shown.length).toBe(before + 1);
    expect(shown.every(({ picture, replay }) => picture.simulated && replay.run === recorded.run)).toBe(true);
    one.close();
  });

  it('goes from change to change and leaves none out', () => {
    const { player: one, shown } = player();
    const times = one.record.pictureTimes();
    one.order({ do: 'speed', speed: 'changes' });
    one.order({ do: 'play' });
    for (let tick = 0; tick < times.length + 3; tick += 1) one.tick(tick * 100);
    expect(new Set(shown.map(({ picture }) => picture.atMs))).toEqual(
      new Set([...times, Math.floor(one.state.toMs / 1_000) * 1_000]),
    );
    expect(one.state.playing).toBe(false);
    one.close();
  });

  it("shows today's rules when their re-run is done, with nothing different under the same rules", async () => {
    const { player: one, shown } = player();
    one.order({ do: 'rules', rules: 'today' });
    expect([one.state.rules, one.state.rerun.name]).toEqual(['then', 'working']);
    await until(() => one.state.rerun.name === 'done');
    expect([one.state.rules, one.state.rerun, one.differences]).toEqual([
      'today',
      { name: 'done', differences: 0 },
      [],
    ]);
    for (const atMs of one.record.pictureTimes()) {
      one.order({ do: 'go', atMs });
      expect(JSON.stringify(shown.at(-1)?.picture)).toBe(JSON.stringify(one.record.pictureAt(atMs)));
    }
    one.order({ do: 'rules', rules: 'then' });
    expect(one.state.rules).toBe('then');
    one.close();
  });

  it('puts readings that came late in their place when it is asked for hindsight', async () => {
    const held = recordRun(mkdtempSync(join(folder, 'held-')), {
      seconds: 150,
      held: { device: 'end-c', from: 60, to: 120 },
      deeds: { 30: (run) => void run.baseline() },
    });
    const opened = openRun(held.path);
    if (!opened.ok) throw new Error(opened.why);
    expect(opened.reader.channels.lateReadings().length).toBe(60);
    const shown: Picture[] = [];
    const one = new Player({
      layout: held.layout,
      record: opened.reader,
      software: 'test-2',
      makeWatch: createWatch,
      show: (picture) => shown.push(picture),
    });
    const ended = (): unknown => [
      shown.at(-1)?.channels.find(({ channel }) => channel === 'end-c-pressure')?.freshness,
      shown.at(-1)?.lines.find(({ line }) => line === 'line-c')?.state,
    ];
    one.order({ do: 'go', atMs: one.state.fromMs + 100_000 });
    expect(ended()).toEqual(['stale', 'unknown']);
    one.order({ do: 'rules', rules: 'hindsight' });
    await until(() => one.state.rules === 'hindsight');
    expect(ended()).toEqual(['fresh', 'as-modelled']);
    one.close();
  });

  it('says when the re-run was stopped, or broke', async () => {
    const { player: one } = player();
    one.order({ do: 'rules', rules: 'today' });
    one.order({ do: 'stop-rerun' });
    await until(() => one.state.rerun.name === 'failed');
    expect(one.state).toMatchObject({ rules: 'then', rerun: { why: 'It was stopped before its end.' } });
    one.close();
  });

  it('lists what other rules would have told', () => {
    const opened = openRun(recorded.path);
    if (!opened.ok) throw new Error(opened.why);
    const then = episodesOf(opened.reader.transitions());
    opened.reader.close();
    const [first] = then;
    if (!first) throw new Error('no alarm in the record');
    const other = { ...first, alarmId: 'other', raisedMs: first.raisedMs + 600_000 };
    const today = [
      { ...first, raisedMs: first.raisedMs + 5_000, verdict: { ...first.verdict, cause: 'hose-burst' as const } },
      other,
    ];
    expect(differencesOf([first], today).map(({ kind }) => kind)).toEqual(['other-time', 'other-cause', 'only-today']);
    expect(differencesOf(then, []).every(({ kind }) => kind === 'only-then')).toBe(true);
    expect(differencesOf(then, then)).toEqual([]);
  });
});

describe('a gateway on a record', () => {
  it('serves the same screens, every picture marked, takes orders, refuses entries, and leaves the record as it was', async () => {
    const before = statSync(recorded.path).mtimeMs;
    const replay = await replayed(recordPath(recorded.run, folder), folder);
    const { app } = replay.server;
    const address = await app.listen({ host: '127.0.0.1', port: 0 });
    const order = async (body: ReplayOrder): Promise<ReplayState> =>
      (await app.inject({ method: 'POST', url: '/api/replay', payload: body })).json<ReplayState>();
    const messages: LiveMessage[] = [];
    const socket = new WebSocket(`${address.replace('http', 'ws')}/live`);
    socket.on('message', (data: Buffer) => messages.push(JSON.parse(data.toString()) as LiveMessage));
    await until(() => messages.length >= 2);
    await order({ do: 'go', atMs: replay.player.state.fromMs + 120_000 });
    await until(() => messages.some((message) => message.type === 'picture' && message.picture.alarms.length > 0));
    const pictures = messages.flatMap((message) => (message.type === 'picture' ? [message] : []));
    expect(pictures.every(({ replay: mark, picture }) => mark?.run === recorded.run && picture.simulated)).toBe(true);
    const entry = await app.inject({
      method: 'POST',
      url: '/api/entries',
      payload: { kind: 'note', by: 'QR', words: 'x' },
    });
    expect([entry.statusCode, entry.json<{ error: { words: string } }>().error.words]).toEqual([
      422,
      expect.stringContaining('This is a replay'),
    ]);
    expect((await app.inject('/api/replay/differences')).statusCode).toBe(404);
    await order({ do: 'rules', rules: 'today' });
    const differences = await until(async () => {
      const answer = await app.inject('/api/replay/differences');
      return answer.statusCode === 200 && answer.json<ReplayDifference[]>();
    });
    expect(differences).toEqual([]);
    expect(
      (await app.inject({ method: 'POST', url: '/api/replay', payload: { do: 'speed', speed: -1 } })).statusCode,
    ).toBe(422);
    const series = (
      await app.inject(`/api/series?channel=flow&from=${replay.player.state.fromMs}&to=${replay.player.state.toMs}`)
    ).json<{ measured: unknown[] }>();
    expect(series.measured.length).toBeGreaterThan(100);
    const { devices } = replay.player.latest!.feed;
    expect(devices.every(({ packets }) => packets > 100)).toBe(true);
    socket.terminate();
    await replay.stop();
    expect(statSync(recorded.path).mtimeMs).toBe(before);
    const database = new Database(recorded.path, { readonly: true });
    expect(database.prepare('select count(*) as n from entry').get()).toEqual({ n: 1 });
    database.close();
  });

  it('says what is wrong with a record that it cannot play', async () => {
    const shared = { screen: folder, loopbackOnly: true, door: null, told: () => undefined, tls: null };
    expect(await startReplay(join(folder, 'none.sqlite'), 'x', shared)).toMatchObject({
      ok: false,
      why: expect.stringContaining('There is no record') as string,
    });
  });
});
