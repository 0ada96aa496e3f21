/** What was shown at any second, from the record alone, against what really was shown. */
import Database from 'better-sqlite3';
import { copyFileSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Picture } from '../../config/wire/wire.ts';
import { openRun, type RunReader } from '../../gateway/journal/run-reader.ts';
import { ShownThen } from '../../gateway/replay/shown-then.ts';
import { recordRun, type Recorded, type RunningRecord } from '../support/recorded-run.ts';

let folder = '';
let recorded: Recorded;
let reader: RunReader;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-then-'));
  recorded = recordRun(folder, {
    seconds: 320,
    telemetry: 'field',
    silent: [220, 245],
    deeds: {
      60: (run) => void run.baseline(),
      90: (run) => run.start('head-off', 'a-3'),
      100: (run) => run.start('sensor-stuck', 'end-c-pressure'),
      150: (run) => run.repair('head-off', 'a-3'),
    },
  });
  reader = open(recorded.path);
}, 60_000);
afterAll(() => {
  reader.close();
  rmSync(folder, { recursive: true, force: true });
});

function open(path: string): RunReader {
  const opened = openRun(path);
  if (!opened.ok) throw new Error(opened.why);
  return opened.reader;
}

/**
 * What a person reads off the screen; books and single heads' pressures are a minute old at most, and no part of it.
 */
function read(picture: Picture): unknown {
  return {
    at: picture.atMs,
    simulated: picture.simulated,
    mode: picture.mode,
    baseline: picture.baseline?.atMs,
    channels: picture.channels,
    notes: picture.notes,
    pumps: picture.pumps.map((pump) => ({ ...pump, fuelLeftS: null })),
    lines: picture.lines.map(({ line, state }) => [line, state]),
    heads: picture.heads.map(({ head, state }) => [head, state]),
    alarms: picture.alarms.map(({ verdict, state, priority }) => [verdict.id, state, priority]),
  };
}

describe('as it was shown then', () => {
  it('is what was shown, at every second', () => {
    const then = new ShownThen(recorded.layout, reader);
    const shown = recorded.shown.filter(({ atMs }) => atMs <= reader.endMs);
    expect(shown.length).toBeGreaterThan(300);
    for (const picture of shown) expect(read(then.at(picture.atMs)!)).toEqual(read(picture));
    expect(new Set(shown.flatMap(({ channels }) => channels.map(({ freshness }) => freshness)))).toEqual(
      new Set(['fresh', 'late', 'stale', 'never']),
    );
    expect(shown.some(({ channels }) => channels.some(({ doubt }) => doubt === 'stuck'))).toBe(true);
  });

  it('is so too for a line end that was found to be shut off because it did not follow the throttle', () => {
    const place = join(folder, 'iced');
    mkdirSync(place);
    const throttle =
      (size: number) =>
      (run: RunningRecord): void =>
        run.start('throttle', 'pump', size);
    const iced = recordRun(place, {
      seconds: 300,
      deeds: {
        90: (run) => void run.baseline(),
        100: (run) => run.start('sensor-iced', 'end-c-pressure', 3),
        120: throttle(0.88),
        220: (run) => run.repair('sensor-iced', 'end-c-pressure'),
        230: throttle(0.97),
      },
    });
    const record = open(iced.path);
    const then = new ShownThen(iced.layout, record);
    const doubts = iced.shown
      .filter(({ atMs }) => atMs <= record.endMs)
      .map((picture) => {
        expect(then.at(picture.atMs)!.channels).toEqual(picture.channels);
        return picture.channels.find(({ channel }) => channel === 'end-c-pressure')!.doubt;
      });
    record.close();
    expect([
      doubts.indexOf('stuck') > 120,
      doubts.filter((doubt) => doubt === 'stuck').length > 60,
      doubts.at(-1),
    ]).toEqual([true, true, null]);
  }, 60_000);

  it('of a second with a whole picture is that picture, and before the first there is none', () => {
    const then = new ShownThen(recorded.layout, reader);
    const times = reader.pictureTimes();
    for (const { atMs, body } of reader.pictureTexts(times[5]))
      expect(JSON.stringify(then.at(atMs + 999 * Number(!times.includes(atMs + 1_000))))).toBe(body);
    expect(then.at(times[0]! - 1)).toBeNull();
  });

  it('knows nothing in a stretch without a record, and keeps the alarms', () => {
    const holed = join(folder, 'holed.sqlite');
    copyFileSync(recorded.path, holed);
    const start = Math.floor(reader.header.startedMs / 1_000) * 1_000;
    const database = new Database(holed);
    database.prepare('delete from picture where at_ms between ? and ?').run(start + 125_000, start + 280_000);
    database.close();
    const record = open(holed);
    const picture = new ShownThen(recorded.layout, record).at(start + 260_000)!;
    record.close();
    expect(
      new Set([...picture.lines, ...picture.structures, ...picture.heads, ...picture.pumps].map(({ state }) => state)),
    ).toEqual(new Set(['unknown']));
    expect(picture.advice).toMatchObject({
      working: false,
      why: expect.stringContaining('nothing was recorded') as string,
    });
    expect(picture.alarms.length).toBeGreaterThan(0);
  });
});

it('reads a record of an older version: what that did not know yet is empty, and no screen trips over it', () => {
  const older = join(folder, 'older.sqlite');
  copyFileSync(recorded.path, older);
  const database = new Database(older);
  const rows = database.prepare<[], { at_ms: number; body: string }>('select at_ms, body from picture').all();
  for (const { at_ms: atMs, body } of rows) {
    const picture = JSON.parse(body) as Picture;
    const structures = picture.structures.map(({ tally, ...structure }) => ({
      ...structure,
      tally: tally && { ...tally, zones: undefined },
    }));
    database.prepare('update picture set body = ? where at_ms = ?').run(
      JSON.stringify({
        ...picture,
        structures,
        shocks: undefined,
        rhythms: undefined,
        setAside: undefined,
        alarmLoad: undefined,
      }),
      atMs,
    );
  }
  database.close();
  const then = open(older);
  const picture = new ShownThen(recorded.layout, then).at(recorded.shown[100]!.atMs)!;
  expect(picture).toMatchObject({ shocks: [], rhythms: [], setAside: [], alarmLoad: null });
  for (const { tally } of picture.structures) expect(tally?.zones).toEqual([]);
  then.close();
});
