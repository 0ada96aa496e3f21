/**
 * One time for a reading, from the packet to the export: a device whose clock is 300 s slow through loop, record,
 * chart, re-run, restart and bundle. Order of events: common practice, no source.
 */
import { gunzipSync } from 'node:zlib';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { ChannelPicture, Picture } from '../../config/wire/wire.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { openRun, type RunReader } from '../../gateway/journal/run-reader.ts';
import { startReplay } from '../../gateway/launch/replay-start.ts';
import { rerun } from '../../gateway/replay/rerun.ts';
import { ShownThen } from '../../gateway/replay/shown-then.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout, text } = demoSite();
const START = 1_790_000_000_000;
const CHANNEL = 'end-a-pressure';
const SLOW_S = 300;

let folder = '';
let wallMs = START;
let shown: { readonly picture: Picture; readonly feed: FeedPicture }[] = [];
let loop: RunLoop;

function start(): void {
  loop = new RunLoop({
    layout,
    layoutText: text,
    software: 'test',
    bundledSimulator: false,
    broker: '',
    wallMs: () => wallMs,
    makeWatch: createWatch,
    openJournal: (facts, patient) => Journal.open(folder, facts, patient),
    restarted: () => undefined,
    show: (picture, feed) => void shown.push({ picture, feed }),
  });
}

function run(seconds: number): void {
  for (let second = 0; second < seconds; second += 1) {
    wallMs += 400;
    const t = wallMs / 1_000 - SLOW_S;
    loop.packet({
      topic: 'wetdown/larch-cove/end-a/senml',
      payload: Buffer.from(JSON.stringify([{ n: 'pressure', u: 'kPa', v: 400 + ((wallMs / 1_000) % 7), t }])),
      retained: false,
    });
    wallMs += 600;
    loop.tick();
  }
}

const channelOf = (picture: Picture): ChannelPicture => picture.channels.find(({ channel }) => channel === CHANNEL)!;

function reader(): RunReader {
  const opened = openRun(join(folder, `${loop.run.name}.sqlite`));
  if (!opened.ok) throw new Error(opened.why);
  return opened.reader;
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-device-time-'));
  wallMs = START;
  shown = [];
  start();
});
afterEach(() => {
  loop.close();
  rmSync(folder, { recursive: true, force: true });
});

it('the chart has points where the number is fresh, and the screen is told by how much the clock was put right', () => {
  run(60);
  const last = shown.at(-1)!;
  expect(channelOf(last.picture)).toMatchObject({ freshness: 'fresh', atMs: wallMs - 600 });
  expect(last.feed.devices.find(({ device }) => device === 'end-a')).toMatchObject({
    clock: { state: 'behind', offMs: -300_000 },
    putRightMs: 300_000,
  });
  const { atMs, measured } = loop.series(CHANNEL, wallMs - 50_000, wallMs)!;
  expect(measured.filter((value) => value !== null).length).toBeGreaterThanOrEqual(45);
  expect(Math.max(...atMs)).toBe(channelOf(last.picture).atMs);
});

it('a packet that comes again is one reading, although its time was put right', () => {
  run(20);
  const before = shown.at(-1)!.feed.rejected;
  const packet = {
    topic: 'wetdown/larch-cove/end-a/senml',
    payload: Buffer.from(JSON.stringify([{ n: 'pressure', u: 'kPa', v: 411, t: wallMs / 1_000 - SLOW_S }])),
    retained: false,
  };
  loop.packet(packet);
  wallMs += 2_000;
  loop.packet(packet);
  loop.tick();
  expect([before, shown.at(-1)!.feed.rejected]).toMatchObject([[], [{ reason: 'ingest/duplicate', count: 1 }]]);
});

it('a restart in the middle goes on with the same clock: nothing is stale, or filed five minutes ago', () => {
  run(30);
  loop.close();
  wallMs += 20_000;
  const from = wallMs;
  start();
  shown = [];
  run(10);
  expect(shown.slice(1).map(({ picture }) => channelOf(picture).freshness)).toEqual(
    Array.from({ length: shown.length - 1 }, () => 'fresh'),
  );
  loop.close();
  const record = reader();
  const readings = [...record.channels.readings(CHANNEL)];
  record.close();
  expect(
    readings.filter(({ receivedMs }) => receivedMs > from).map(({ atMs, receivedMs }) => receivedMs - atMs),
  ).toEqual(Array.from({ length: 10 }, () => 0));
  expect(readings.map(({ atMs, deviceMs }) => atMs - deviceMs!)).toEqual(
    Array.from({ length: 40 }, (_, index) => (index < 4 ? 0 : 300_000)),
  );
});

it('what was shown then, a re-run and the export have that time too', async () => {
  run(60);
  loop.close();
  const record = reader();
  const then = new ShownThen(layout, record);
  for (const { picture } of shown.slice(10))
    expect(channelOf(then.at(picture.atMs)!)).toMatchObject({
      atMs: channelOf(picture).atMs,
      freshness: channelOf(picture).freshness,
    });
  const again: Picture[] = [];
  const steps = rerun(
    { layout, startedMs: START, endMs: record.endMs, events: record.events(), awakeMs: record.pictureTimes() },
    createWatch(layout, { simulated: false }),
    (picture) => void again.push(picture),
  );
  for (const atMs of steps) expect(atMs).toBeGreaterThan(0);
  const live = new Map(shown.map(({ picture }) => [picture.atMs, JSON.stringify(picture)]));
  const both = again.filter(({ atMs }) => live.has(atMs));
  expect(both.length).toBeGreaterThan(55);
  expect(both.filter((picture) => JSON.stringify(picture) !== live.get(picture.atMs))).toEqual([]);
  record.close();

  const replay = await startReplay(join(folder, `${loop.run.name}.sqlite`), 'test', {
    screen: folder,
    loopbackOnly: true,
    door: null,
    told: () => undefined,
    tls: null,
  });
  if (!replay.ok) throw new Error(replay.why);
  const answer = await replay.server.app.inject({ method: 'GET', url: '/api/review/export/bundle.tar.gz' });
  await replay.stop();
  const csv = gunzipSync(answer.rawPayload).toString('utf8');
  const newest = channelOf(shown.at(-1)!.picture).atMs!;
  const utc = (ms: number): string => new Date(ms).toISOString().slice(0, 19);
  const row = csv.split('\n').find((line) => line.includes(`,${newest},`));
  expect(row, 'the reading stands at the time it was measured, with what its device said beside it').toMatch(
    new RegExp(`${utc(newest)}.*,${newest},.*${utc(newest)}.*${utc(newest - 300_000)}`),
  );
});
