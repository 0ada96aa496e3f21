/**
 * A recorded run driven through the core again: the same pictures to the byte, gaps and all; it can be stopped and
 * watched.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Picture } from '../../config/wire/wire.ts';
import { openRun, type RunReader } from '../../gateway/journal/run-reader.ts';
import { rerun, type RunInput } from '../../gateway/replay/rerun.ts';
import { runInSlices } from '../../gateway/replay/record/slices.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { recordRun, type Recorded } from '../support/recorded-run.ts';

let folder = '';
let recorded: Recorded;
let reader: RunReader;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-rerun-'));
  recorded = recordRun(folder, {
    seconds: 330,
    telemetry: 'field',
    silent: [250, 280],
    deeds: {
      60: (run) => void run.baseline(),
      90: (run) => run.start('head-off', 'a-3'),
      140: (run) =>
        run.loop.latest?.picture.alarms.forEach(({ verdict }) =>
          run.enter({ kind: 'acknowledge', by: 'QR', alarm: verdict.id }),
        ),
      150: (run) => run.repair('head-off', 'a-3'),
      200: (run) => void run.enter({ kind: 'note', by: 'QR', words: 'walked line A' }),
      201: (run) => void run.enter({ kind: 'acknowledge', by: 'QR', alarm: 'none' }),
    },
  });
  const opened = openRun(recorded.path);
  if (!opened.ok) throw new Error(opened.why);
  ({ reader } = opened);
}, 60_000);
afterAll(() => {
  reader.close();
  rmSync(folder, { recursive: true, force: true });
});

function input(): RunInput {
  return {
    layout: recorded.layout,
    startedMs: reader.header.startedMs,
    endMs: reader.endMs,
    events: reader.events(),
    awakeMs: reader.pictureTimes(),
  };
}

describe('a re-run', () => {
  it('gives the recorded pictures to the byte, and those shown between them', () => {
    const again = new Map<number, string>();
    const steps = rerun(input(), createWatch(recorded.layout, { simulated: true }), (picture) =>
      again.set(picture.atMs, JSON.stringify(picture)),
    );
    for (const atMs of steps) expect(atMs).toBeLessThanOrEqual(reader.endMs);
    const stored = [...reader.pictureTexts()];
    expect(stored.length).toBeGreaterThan(12);
    for (const { atMs, body } of stored) expect(again.get(atMs)).toBe(body);
    for (const picture of recorded.shown.filter(({ atMs }) => atMs <= reader.endMs))
      expect(again.get(picture.atMs)).toBe(JSON.stringify(picture));
    expect(
      recorded.shown.some(({ alarms }) => alarms.some(({ verdict }) => verdict.places.some(({ id }) => id === 'a-3'))),
    ).toBe(true);
  });

  it('leaves a stretch in which the gateway slept as one stride', () => {
    const strides: number[] = [];
    const quiet = {
      take: () => undefined,
      silence: () => undefined,
      enter: () => null,
      advance: (nowMs: number): Picture | null => {
        strides.push(nowMs);
        return null;
      },
    };
    const sleepMs = 3_600_000;
    const start = reader.header.startedMs;
    for (const atMs of rerun(
      { ...input(), events: [], awakeMs: [start, start + 2_000, start + sleepMs], endMs: start + sleepMs + 2_000 },
      quiet,
      () => undefined,
    ))
      expect(atMs).toBe(start + sleepMs + 2_000);
    const fromStart = strides.map((atMs) => atMs - Math.floor(start / 1_000) * 1_000).filter((ms) => ms >= 2_000);
    expect(fromStart.length).toBeLessThan(10);
  });

  it('tells how far it is, and stops when it is told to', async () => {
    const told: number[] = [];
    const stop = new AbortController();
    const shown: Picture[] = [];
    const steps = rerun(input(), createWatch(recorded.layout, { simulated: true }), (picture) => shown.push(picture));
    const finished = await runInSlices(steps, {
      sliceMs: 5,
      stop: stop.signal,
      reached: (atMs) => {
        told.push(atMs);
        if (told.length === 3) stop.abort();
      },
    });
    expect([finished, told.length]).toEqual([false, 3]);
    expect(shown.length).toBeLessThan(320);
    expect(
      await runInSlices(
        rerun({ ...input(), events: [] }, createWatch(recorded.layout, { simulated: true }), () => undefined),
        { sliceMs: 50, reached: () => undefined },
      ),
    ).toBe(true);
  });
});

describe('the record of a run', () => {
  it('is read without being changed, with what was said in it', () => {
    expect(reader.header).toMatchObject({
      site: 'larch-cove',
      simulated: true,
      software: 'test-1',
      fingerprint: recorded.layout.fingerprint,
    });
    expect(reader.entries().map(({ entry, refusal }) => [entry.kind, refusal === null])).toEqual([
      ['baseline', true],
      ['acknowledge', true],
      ['note', true],
      ['acknowledge', false],
    ]);
    const became = reader
      .transitions()
      .filter(({ alarmId }) => alarmId.startsWith('outflow:line-a'))
      .map(({ became: state }) => state);
    // A wording that sharpens may change the priority in between.
    expect([...new Set(became)]).toEqual(['unacknowledged', 'acknowledged', 'gone']);
    expect(() => reader.database.exec('delete from packet')).toThrow(/readonly/);
  });

  it('that is none says so', () => {
    expect(openRun(join(folder, 'none.sqlite'))).toEqual({
      ok: false,
      why: expect.stringContaining('There is no record') as string,
    });
    expect(openRun('package.json')).toEqual({
      ok: false,
      why: expect.stringContaining('cannot be read as a run') as string,
    });
  });
});
