/**
 * The record of a run: what is written, what survives a sudden end, what happens when the disk fails, what a chart
 * gets.
 */
import Database from 'better-sqlite3';
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Journal } from '../../gateway/journal/journal.ts';
import { migrate } from '../../gateway/journal/run-file.ts';
import { MIGRATIONS } from '../../gateway/journal/schema.ts';
import type { Reading } from '../../gateway/core/telemetry/reading.ts';
import { blankAlarm, blankChannel, blankPicture } from '../support/blank-picture.ts';
import { demoFacts, demoSite } from '../support/demo-site.ts';

const { layout, text } = demoSite();
const START = 1_790_000_000_000;
const facts = demoFacts(START);
const PACKET = {
  receivedMs: START,
  receivedWallMs: START,
  topic: 'wetdown/larch-cove/pump-box/senml',
  payload: Buffer.from('[]'),
  retained: false,
  verdict: 'readings',
};

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-journal-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function reading(second: number, value: number, channel = 'discharge'): Reading {
  return {
    channel,
    value,
    atMs: START + second * 1_000,
    receivedMs: START + second * 1_000 + 40,
    deviceMs: null,
    grade: 'good',
  };
}

function rows(path: string, query: string): unknown[] {
  const database = new Database(path, { readonly: true });
  try {
    return database.prepare(query).all();
  } finally {
    database.close();
  }
}

describe('what is written', () => {
  it('one file a run, named after site and time, with what the run was made of', () => {
    const journal = new Journal(folder, facts);
    const second = new Journal(folder, facts);
    expect([journal.run, second.run]).toEqual(['larch-cove-20260921T141320Z', 'larch-cove-20260921T141320Z-2']);
    journal.markSimulated();
    journal.close();
    second.close();
    expect(rows(journal.path, 'select site, simulated, software, layout_fingerprint, layout from run')).toEqual([
      { site: 'larch-cove', simulated: 1, software: '0.1.0', layout_fingerprint: layout.fingerprint, layout: text },
    ]);
    expect(rows(second.path, 'select simulated from run')).toEqual([{ simulated: 0 }]);
    expect(rows(journal.path, 'select count(*) as n from channel')).toEqual([{ n: layout.sensors.length }]);
  });

  it('raw packets, readings once, entries with their refusal, the broken frame', () => {
    const journal = new Journal(folder, facts);
    const number = journal.packet({ ...PACKET, payload: Buffer.from('[1'), verdict: 'ingest/not-json' });
    journal.reading(reading(1, 5), true, number ?? 0);
    journal.reading(reading(1, 5), true, journal.packet(PACKET) ?? 0);
    journal.reading(reading(1, 6), false, 2);
    journal.entry({ kind: 'note', by: 'ab', words: 'tank filled' }, START, START, null);
    journal.entry({ kind: 'gate', by: 'ab', gate: 'x', opening: 0 }, START, START, 'There is no gate x.');
    journal.breakage(START, 'advance', 'Error: not finite');
    journal.close();
    expect(rows(journal.path, 'select number, cast(payload as text) as payload, verdict from packet')).toEqual([
      { number: 1, payload: '[1', verdict: 'ingest/not-json' },
      { number: 2, payload: '[]', verdict: 'readings' },
    ]);
    expect(rows(journal.path, 'select value, packet, live from reading')).toEqual([
      { value: 5, packet: 1, live: 1 },
      { value: 6, packet: 2, live: 0 },
    ]);
    expect(rows(journal.path, 'select kind, by, after_packet, refusal from entry')).toEqual([
      { kind: 'note', by: 'ab', after_packet: 2, refusal: null },
      { kind: 'gate', by: 'ab', after_packet: 2, refusal: 'There is no gate x.' },
    ]);
    expect(rows(journal.path, 'select doing, after_packet from breakage')).toEqual([
      { doing: 'advance', after_packet: 2 },
    ]);
  });

  it('alarm transitions, and whole pictures when something changed or a minute has passed', () => {
    const journal = new Journal(folder, facts);
    const raised = blankAlarm('leak:line-a');
    for (let second = 0; second < 130; second += 1) {
      const alarms =
        second < 10 || second > 40 ? [] : second < 20 ? [raised] : [{ ...raised, state: 'acknowledged' as const }];
      journal.picture(blankPicture(START + second * 1_000, { alarms }));
    }
    journal.close();
    expect(rows(journal.path, 'select (at_ms - 1790000000000) / 1000 as at, became from alarm_transition')).toEqual([
      { at: 10, became: 'unacknowledged' },
      { at: 20, became: 'acknowledged' },
      { at: 41, became: 'gone' },
    ]);
    expect(
      rows(journal.path, 'select (at_ms - 1790000000000) / 1000 as at from picture').map(
        (row) => (row as { at: number }).at,
      ),
    ).toEqual([0, 10, 20, 41, 101]);
  });

  it('acknowledges a packet once another reader finds it in the file, not before', () => {
    const journal = new Journal(folder, facts);
    const found: unknown[] = [];
    const look = (): void => void found.push(...rows(journal.path, 'select count(*) as n from packet'));
    journal.packet(PACKET, look);
    journal.packet(PACKET, look);
    expect([found, journal.awaited]).toEqual([[], 2]);
    journal.flush();
    expect([found, journal.awaited]).toEqual([[{ n: 2 }, { n: 2 }], 0]);
    journal.flush();
    expect(found.length).toBe(2);
    journal.close();
  });
});

describe('sudden ends', () => {
  it('keeps every committed row when the process is killed', () => {
    const script =
      `
      import { Journal } from './gateway/journal/journal.ts';
      import { demoSite } from ` +
      `'./tests/support/demo-site.ts';
      const { layout, text } = demoSite();
      const journal = ` +
      `new Journal(${JSON.stringify(folder)}, { layout, layoutText: text, software: 'x', simulated: ` +
      `false, startedMs: 1, startedWallMs: 1 });
      for (let n = 0; n < 500; n += 1) journal.packet({ ` +
      `receivedMs: n, receivedWallMs: n, topic: 't', payload: Buffer.from('[]'), retained: false, ` +
      `verdict: 'readings' });
      journal.flush();
      journal.packet({ receivedMs: 0, ` +
      `receivedWallMs: 0, topic: 't', payload: Buffer.from('[]'), retained: false, verdict: 'readings' ` +
      `});
      process.kill(process.pid, 'SIGKILL');`;
    const ended = spawnSync(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', script], {
      encoding: 'utf8',
    });
    expect([ended.signal, ended.stderr]).toEqual(['SIGKILL', '']);
    const [file] = readdirSync(folder).filter((name) => name.endsWith('.sqlite'));
    const path = join(folder, file ?? '');
    const database = new Database(path);
    expect(database.pragma('integrity_check', { simple: true })).toBe('ok');
    expect(database.prepare('select count(*) as n from packet').get()).toEqual({ n: 500 });
    database.close();
  });

  it('refuses a file of a newer version', () => {
    const database = new Database(':memory:');
    database.pragma('user_version = 99');
    expect(() => migrate(database)).toThrow(/newer version/);
    database.close();
  });
});

describe('a failing disk', () => {
  it('is said, the rows wait, and they are written when it is back', () => {
    const journal = new Journal(folder, facts);
    journal.packet(PACKET);
    journal.flush();
    const away = `${folder}-away`;
    renameSync(folder, away);
    journal.packet(PACKET);
    journal.flush();
    expect(journal.state).toMatchObject({ state: 'failed' });
    expect(journal.state.why).toBeTruthy();
    expect(journal.series('discharge', START, START + 1_000)?.atMs).toEqual([]);
    renameSync(away, folder);
    for (let flush = 0; flush < 5; flush += 1) journal.flush();
    expect(journal.state).toMatchObject({ state: 'writing', why: null });
    journal.close();
    expect(rows(journal.path, 'select count(*) as n from packet')).toEqual([{ n: 2 }]);
  });

  it('acknowledges nothing until the disk is back, and nothing at the end if it is not', () => {
    const journal = new Journal(folder, facts);
    const away = `${folder}-away`;
    renameSync(folder, away);
    let acknowledged = 0;
    for (let packet = 0; packet < 5; packet += 1) {
      journal.packet(PACKET, () => (acknowledged += 1));
      journal.flush();
    }
    expect([journal.state.state, acknowledged, journal.awaited]).toEqual(['failed', 0, 0]);
    renameSync(away, folder);
    for (let flush = 0; flush < 20; flush += 1) journal.flush();
    expect(acknowledged).toBe(5);
    rmSync(folder, { recursive: true });
    journal.packet(PACKET, () => (acknowledged += 1));
    expect(journal.close()).toBe(false);
    expect(acknowledged).toBe(5);
  });

  it('does not start a run without its record', () => {
    expect(() => new Journal(join(folder, 'not-there'), facts)).toThrow();
  });

  it('bounds what waits: pictures give way to packets, and who sends more is owed an acknowledgement', () => {
    const journal = new Journal(folder, facts);
    const away = `${folder}-away`;
    renameSync(folder, away);
    let acknowledged = 0;
    const numbers = new Set<number | null>();
    for (let packet = 0; packet < 210_000; packet += 1) {
      if (packet === 150_000)
        journal.picture(blankPicture(START, { channels: [blankChannel('discharge', { expected: 1 })] }));
      numbers.add(journal.packet(PACKET, packet % 1_000 === 0 ? () => (acknowledged += 1) : null));
    }
    journal.flush();
    expect([numbers.size, numbers.has(null), journal.owes, acknowledged]).toEqual([200_001, true, true, 0]);
    expect(journal.state.why).toContain('10002 rows found no room');
    renameSync(away, folder);
    for (let flush = 0; acknowledged === 0; flush += 1) {
      expect(flush).toBeLessThan(20);
      journal.flush();
    }
    expect([journal.close(), acknowledged]).toEqual([true, 200]);
    expect(rows(journal.path, 'select count(*) as n from packet')).toEqual([{ n: 200_000 }]);
  });
});

describe('a chart', () => {
  function chart(
    seconds: readonly number[],
    expectedSeconds: readonly number[],
    fromS: number,
    toS: number,
  ): NonNullable<ReturnType<Journal['series']>> {
    const journal = new Journal(folder, facts);
    for (const second of seconds) journal.reading(reading(second, second), true, 1);
    for (const second of expectedSeconds) {
      journal.picture(
        blankPicture(START + second * 1_000, {
          channels: [blankChannel('discharge', { expected: 100, low: 90, high: 110 })],
        }),
      );
    }
    journal.flush();
    const series = journal.series('discharge', START + fromS * 1_000, START + toS * 1_000);
    journal.close();
    return series!;
  }
  const span = (from: number, to: number): number[] => Array.from({ length: to - from }, (_, index) => from + index);

  it('gets each reading of a short window, with the band beside it', () => {
    const series = chart([0, 1, 2], [0, 1, 2], 0, 10);
    expect(series).toEqual({
      channel: 'discharge',
      atMs: [START, START + 1_000, START + 2_000],
      measured: [0, 1, 2],
      expected: [100, 100, 100],
      low: [90, 90, 90],
      high: [110, 110, 110],
    });
  });

  it('shows a gap as a gap, with the band going on', () => {
    const series = chart([0, 1, 2, 9, 10], span(0, 11), 0, 20);
    expect(series.measured).toEqual([0, 1, 2, null, null, null, null, null, null, 9, 10]);
    expect(series.expected.every((value) => value === 100)).toBe(true);
    expect(chart([0, 1, 9], [], 0, 20).measured).toEqual([0, 1, null, 9]);
  });

  it('draws on across the odd missing reading', () => {
    expect(chart([0, 1, 3, 4], span(0, 5), 0, 10).measured).toEqual([0, 1, 3, 4]);
  });

  it('goes on with the band where a sensor has fallen silent', () => {
    expect(chart([0, 1], span(0, 6), 0, 10).measured).toEqual([0, 1, null, null, null, null]);
  });

  it('thins a long window, in order, to readings at their own time, and never more than 1500 rows', () => {
    const series = chart(
      span(0, 20_000),
      span(0, 20_000).filter((second) => second % 3 === 0),
      -2_000,
      22_000,
    );
    expect(series.atMs.length).toBeLessThanOrEqual(1_500);
    expect(series.atMs.length).toBeGreaterThan(400);
    expect(series.atMs.every((atMs, index) => index === 0 || atMs > series.atMs[index - 1]!)).toBe(true);
    series.measured.forEach((value, index) =>
      expect(Math.abs(value! - (series.atMs[index]! - START) / 1_000)).toBeLessThan(0.51),
    );
  });

  it('is put together from minutes when it spans days, and agrees with the readings', () => {
    const journal = new Journal(folder, facts);
    for (let minute = 0; minute < 4_000; minute += 1)
      for (const second of [0, 20, 40]) journal.reading(reading(60 * minute + second, minute + second / 60), true, 1);
    journal.picture(
      blankPicture(START, { channels: [blankChannel('discharge', { expected: 100, low: 90, high: null })] }),
    );
    journal.flush();
    const series = journal.series('discharge', START, START + 3 * 86_400_000);
    journal.close();
    expect(series?.atMs.length).toBeGreaterThan(500);
    expect(series?.atMs.length).toBeLessThanOrEqual(1_500);
    series?.measured.forEach((value, index) =>
      expect(Math.abs(value! - (series.atMs[index]! - START) / 60_000)).toBeLessThan(1.1),
    );
    expect([series?.expected[0], series?.low[0], series?.high[0]]).toEqual([100, 90, null]);
  });

  it.each([
    ['of minutes', 600, 1_300],
    ['of hours', 36_000, 1_300],
    ['of days', 400_000, 1_300],
  ])('keeps a spike of one second visible in a window %s', (_what, seconds, spikeS) => {
    const journal = new Journal(folder, facts);
    const every = Math.max(1, Math.round(seconds / 20_000));
    const at = Math.min(spikeS, seconds / 2);
    for (let second = 0; second < seconds; second += every)
      journal.reading(reading(second, Math.abs(second - at) < every / 2 + 0.1 ? 9_000 : second % 7), true, 1);
    journal.flush();
    const series = journal.series('discharge', START, START + seconds * 1_000);
    journal.close();
    expect(Math.max(...(series?.measured ?? []).map((value) => value ?? 0))).toBe(9_000);
    expect(Math.min(...(series?.measured ?? []).map((value) => value ?? 9_000))).toBe(0);
    expect(series?.atMs.length).toBeLessThanOrEqual(1_500);
    expect(series?.atMs.every((atMs, index) => index === 0 || atMs > series.atMs[index - 1]!)).toBe(true);
  });

  it('has the extremes of what was written by an older version', () => {
    const database = new Database(join(folder, 'old.sqlite'));
    for (const statement of MIGRATIONS.slice(0, 3)) database.exec(statement);
    database.pragma('user_version = 3');
    for (const value of [3, 1, 2])
      database.prepare('insert into reading values (0, ?, ?, 0, null, 1, 1, 1)').run(60_000 + value, value);
    migrate(database);
    database.prepare('insert into reading values (0, 60009, 8, 0, null, 1, 1, 1)').run();
    expect(database.prepare('select minute, rows, total, lowest, highest from reading_minute').all()).toEqual([
      { minute: 1, rows: 4, total: 14, lowest: 1, highest: 8 },
    ]);
    database.close();
  });

  it('knows its channels', () => {
    const journal = new Journal(folder, facts);
    expect(journal.series('nobody', 0, 1)).toBeNull();
    journal.close();
  });
});
