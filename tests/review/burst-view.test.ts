/**
 * A burst opened out of a record: whole samples, the diagnosis's own spectrum, and marks that say what the alarms say.
 * The beats are the plant's (simulator/beats.ts), nothing of which is told to the gateway.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { BurstEntry, BurstView } from '../../config/wire/bursts.ts';
import type { Replay } from '../../gateway/launch/replay-start.ts';
import { recordRun, type Recorded } from '../support/recorded-run.ts';
import { replayed } from '../support/replayed-run.ts';

const MOTION = 'n-riser-motion';
let folder = '';
let recorded: Recorded;
let replay: Extract<Replay, { ok: true }>;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-bursts-'));
  recorded = recordRun(folder, {
    site: 'quarry-road',
    seconds: 1_000,
    seed: 9_915,
    beat: 0.02,
    deeds: { 430: (run) => void run.baseline(), 620: (run) => run.start('head-stalled', 'n-4') },
  });
  replay = await replayed(recorded.path, folder);
}, 120_000);
afterAll(async () => {
  await replay.stop();
  rmSync(folder, { recursive: true, force: true });
});

async function get<Body>(path: string): Promise<{ status: number; body: Body }> {
  const answer = await replay.server.app.inject(path);
  return { status: answer.statusCode, body: answer.json<Body>() };
}

const atSecond = (second: number): number => recorded.shown[0]!.atMs + second * 1_000;
const list = async (from: number, to: number, channel = MOTION): Promise<BurstEntry[]> =>
  (await get<BurstEntry[]>(`/api/bursts?channel=${channel}&from=${atSecond(from)}&to=${atSecond(to)}`)).body;
const open = async (atMs: number, channel = MOTION): Promise<BurstView> =>
  (await get<BurstView>(`/api/burst?channel=${channel}&at=${atMs}`)).body;

describe('a burst of the record', () => {
  it('is listed whole, newest first: 128 samples at 32 Hz a minute, as the sensor sends them', async () => {
    const bursts = await list(60, 960);
    expect(bursts.length).toBeGreaterThanOrEqual(14);
    expect(
      bursts.every(({ samples, atMs, endMs }) => samples === 128 && Math.abs(endMs - atMs - (127 / 32) * 1_000) < 2),
    ).toBe(true);
    expect(bursts.map(({ atMs }) => atMs)).toEqual(
      bursts.map(({ atMs }) => atMs).toSorted((one, other) => other - one),
    );
  });

  it('opens by any moment within it, and names its neighbours', async () => {
    const [newest, before] = await list(60, 960);
    const view = await open(before!.atMs + 1_500);
    expect(view).toMatchObject({ ...before, laterMs: newest!.atMs, standing: 'judged' });
    expect([view.values.length, view.intoMs[0], view.ratesHz.length]).toEqual([128, 0, view.power.length]);
    expect((await open(view.earlierMs!)).laterMs).toBe(before!.atMs);
  });

  it('holds every beat of the baseline while all heads turn, and after one stalled lacks as many as the diagnosis misses', async () => {
    const told = recorded.shown.at(-1)!.rhythms[1]!;
    expect(told).toMatchObject({ line: 'line-n', lost: 1 });
    for (const { atMs } of await list(440, 610)) {
      const { beats } = await open(atMs);
      expect(beats.map(({ baselineHz }) => baselineHz)).toEqual(told.ratesHz);
      expect(beats.map(({ heard }) => heard)).not.toContain('gone');
    }
    const after = await Promise.all((await list(700, 990)).map(({ atMs }) => open(atMs)));
    for (const { beats } of after.slice(0, 4))
      expect(beats.filter(({ heard }) => heard === 'gone')).toHaveLength(told.lost);
  });

  it('marks where its own spectrum has its peaks: a beat that is heard stands above all that noise makes', async () => {
    const [{ atMs }] = (await list(440, 610)) as [BurstEntry];
    const { beats, ratesHz, power, noiseTop } = await open(atMs);
    for (const { rateHz } of beats)
      expect(Math.max(...power.filter((_, index) => Math.abs(ratesHz[index]! - rateHz) < 0.2))).toBeGreaterThan(
        noiseTop,
      );
  });

  it('says why nothing can be marked: before any baseline', async () => {
    const [early] = await list(60, 400);
    expect(await open(early!.atMs)).toMatchObject({ standing: 'no-baseline', beats: [], baselineMs: null });
  });

  it.each([
    ['/api/burst?channel=nobody&at=1', 404, 'site/unknown-channel'],
    ['/api/burst?channel=end-n-pressure&at=1', 422, 'burst/not-fast'],
    [`/api/burst?channel=${MOTION}&at=1`, 404, 'burst/none'],
    [`/api/burst?channel=${MOTION}&at=x`, 422, 'request/bad-moment'],
    ['/api/burst?at=1', 422, 'request/bad-moment'],
    [`/api/bursts?channel=${MOTION}&from=5&to=5`, 422, 'request/bad-window'],
    ['/api/bursts?channel=nobody&from=1&to=5', 404, 'site/unknown-channel'],
    ['/api/bursts?channel=a&channel=b&from=1&to=5', 404, 'site/unknown-channel'],
  ])('%s is %i %s', async (path, status, code) => {
    expect(await get(path)).toMatchObject({ status, body: { error: { code } } });
  });

  it('has no bursts where nothing was sent', async () => {
    expect(await list(-5_000, -4_000)).toEqual([]);
  });
});
