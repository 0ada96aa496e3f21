/** What stays of a long run, a disk that fills up, and a run file that is taken elsewhere. */
import Database from 'better-sqlite3';
import { copyFileSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { History } from '../../gateway/journal/history.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { spaceOf, thin } from '../../gateway/journal/retention.ts';
import type { RunFacts } from '../../gateway/journal/run-file.ts';
import { blankAlarm, blankChannel, blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout, text } = demoSite();
const START = 1_790_000_000_000;
const DAY = 86_400_000;
const facts: RunFacts = {
  layout,
  layoutText: text,
  software: '0.1.0',
  simulated: false,
  startedMs: START,
  startedWallMs: START,
};

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-retention-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function minuteOf(journal: Journal, atMs: number): void {
  const number =
    journal.packet({
      receivedMs: atMs,
      receivedWallMs: atMs,
      topic: 't',
      payload: Buffer.from('[]'),
      retained: false,
      verdict: 'readings',
    }) ?? 0;
  for (const second of [0, 20, 40])
    journal.reading(
      {
        channel: 'discharge',
        value: second,
        atMs: atMs + second * 1_000,
        receivedMs: atMs,
        deviceMs: null,
        grade: 'good',
      },
      true,
      number,
    );
  journal.picture(
    blankPicture(atMs, {
      alarms: [blankAlarm('leak:line-a')],
      channels: [blankChannel('discharge', { expected: 100, low: 90, high: 110 })],
    }),
  );
}

function count(database: Database.Database, table: string, where = '1'): number {
  return database.prepare<[], { n: number }>(`select count(*) as n from ${table} where ${where}`).get()?.n ?? 0;
}

describe('a run longer than is kept whole', () => {
  function long(): Journal {
    const journal = new Journal(folder, facts);
    for (let hour = 0; hour < 20 * 24; hour += 1) minuteOf(journal, START + hour * 3_600_000);
    journal.entry({ kind: 'note', by: 'ab', words: 'walked line A' }, START, START, null);
    journal.flush();
    return journal;
  }

  it('keeps minutes of what is old, everything of what is not, and all that people and alarms said', () => {
    const journal = long();
    const database = new Database(journal.path);
    const before = ['entry', 'alarm_transition', 'picture', 'reading_minute', 'expectation_minute'].map((table) =>
      count(database, table),
    );
    let pieces = 0;
    while (!thin(database, START + 6 * DAY)) pieces += 1;
    expect(pieces).toBeGreaterThan(2);
    expect([count(database, 'packet'), count(database, 'reading'), count(database, 'expectation')]).toEqual([
      14 * 24,
      3 * 14 * 24,
      14 * 24,
    ]);
    expect(count(database, 'reading', `at_ms < ${START + 6 * DAY}`)).toBe(0);
    expect(
      ['entry', 'alarm_transition', 'picture', 'reading_minute', 'expectation_minute'].map((table) =>
        count(database, table),
      ),
    ).toEqual(before);
    database.close();
    const old = journal.series('discharge', START, START + 600_000);
    // The first three readings lie in two minutes.
    expect([old?.measured, old?.expected[0]]).toEqual([[0, 20, 40], 100]);
    journal.close();
  });

  it('is looked after while it is written, and goes on with its numbers', () => {
    const journal = long();
    for (let minute = 0; minute < 400; minute += 1) journal.tend(START + 20 * DAY + minute * 61_000);
    minuteOf(journal, START + 20 * DAY);
    journal.close();
    const database = new Database(journal.path, { readonly: true });
    expect(count(database, 'packet')).toBeLessThan(15 * 24);
    expect(database.prepare('select max(number) as n from packet').get()).toEqual({ n: 20 * 24 + 1 });
    database.close();
  });
});

describe('the room on the disk', () => {
  it('is said when it gets short, and then less is kept', () => {
    expect(spaceOf(2e9)).toEqual({ keepAllMs: 14 * DAY, words: null });
    expect(spaceOf(3e8)).toEqual({
      keepAllMs: DAY,
      words: expect.stringContaining('nearly full: 300 MB left') as string,
    });
  });
});

describe('the file of a run', () => {
  it('is one file once the run is over, and can be opened wherever it was copied to', () => {
    const journal = new Journal(folder, facts);
    minuteOf(journal, START);
    journal.entry({ kind: 'note', by: 'ab', words: 'x' }, START, START, null);
    journal.close();
    expect(readdirSync(folder)).toEqual([`${journal.run}.sqlite`]);
    const elsewhere = mkdtempSync(join(tmpdir(), 'wetdown-elsewhere-'));
    const copy = join(elsewhere, 'copy.sqlite');
    copyFileSync(journal.path, copy);
    rmSync(journal.path);
    const history = new History(copy);
    expect([history.next()?.kind, history.next()?.kind, history.next()]).toEqual(['packet', 'entry', null]);
    history.close();
    const database = new Database(copy, { readonly: true });
    expect([database.pragma('integrity_check', { simple: true }), count(database, 'reading')]).toEqual(['ok', 3]);
    database.close();
    rmSync(elsewhere, { recursive: true });
    expect(existsSync(journal.path)).toBe(false);
  });
});
