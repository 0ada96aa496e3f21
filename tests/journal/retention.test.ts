/** What stays of a long run, a disk that fills up, and a run file that is taken elsewhere. */
import Database from 'better-sqlite3';
import { copyFileSync, existsSync, mkdtempSync, readdirSync, renameSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { findEarlierRun } from '../../gateway/journal/earlier-run.ts';
import { History } from '../../gateway/journal/history.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { spaceOf, thin } from '../../gateway/journal/retention.ts';
import { runsOf } from '../../gateway/journal/uptime.ts';
import { blankAlarm, blankChannel, blankPicture } from '../support/blank-picture.ts';
import { demoFacts, demoSite } from '../support/demo-site.ts';

const { layout } = demoSite();
const START = 1_790_000_000_000;
const DAY = 86_400_000;
const facts = demoFacts(START);

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

  it('is never thinned while it is written, however long it has run and whatever its clock says', () => {
    const journal = new Journal(folder, facts, false, null, () => 1e6);
    for (const atMs of [START, START + 20 * DAY]) minuteOf(journal, atMs);
    journal.flush();
    for (let hour = 0; hour < 90 * 24; hour += 1) journal.tend(hour * 3_600_000);
    expect(journal.state.why).toContain('Nothing of this run is deleted');
    journal.close();
    const database = new Database(journal.path, { readonly: true });
    expect(count(database, 'reading')).toBe(6);
    database.close();
  });
});

describe('a run that is over', () => {
  /** Another run of the site, that is written on for so long. */
  function goOnFor(days: number, freeBytes = 1e12): Journal {
    const journal = new Journal(folder, facts, false, null, () => freeBytes);
    for (let minute = 0; minute <= days * 24 * 60; minute += 10) {
      journal.tend(minute * 60_000);
      if (minute % 600 === 0) journal.flush();
    }
    // Piece by piece, four times a second.
    for (let tick = 0; tick < 400; tick += 1) journal.tend(days * DAY + 250 * tick);
    journal.flush();
    return journal;
  }
  function over(hours = 200): string {
    const journal = new Journal(folder, facts);
    journal.tend(0);
    for (let hour = 0; hour < hours; hour += 1) minuteOf(journal, START + hour * 3_600_000);
    journal.entry({ kind: 'note', by: 'ab', words: 'walked line A' }, START, START, null);
    journal.tend(hours * 3_600_000);
    journal.close();
    return journal.path;
  }
  function left(path: string): { packets: number; readings: number; minutes: number; entries: number } {
    const database = new Database(path, { readonly: true });
    const [packets, readings, minutes, entries] = ['packet', 'reading', 'reading_minute', 'entry'].map((table) =>
      count(database, table),
    ) as [number, number, number, number];
    database.close();
    return { packets, readings, minutes, entries };
  }

  it('keeps everything until gateways have run for two weeks since, then minutes; its file gets smaller', () => {
    const path = over();
    const whole = left(path);
    const bytes = statSync(path).size;
    goOnFor(13.9).close();
    expect(left(path)).toEqual(whole);
    goOnFor(0.2).close();
    expect(left(path)).toEqual({ ...whole, packets: 0, readings: 0 });
    expect(statSync(path).size).toBeLessThan(bytes);
    const database = new Database(path, { readonly: true });
    expect(database.pragma('freelist_count', { simple: true })).toBe(0);
    database.close();
  });

  it('is thinned a day of running after where the disk is nearly full, and not by less', () => {
    const path = over();
    const whole = left(path);
    goOnFor(0.9, 3e8).close();
    expect(left(path)).toEqual(whole);
    goOnFor(0.2, 3e8).close();
    expect(left(path).readings).toBe(0);
  });

  it('is then no run that a gateway goes on with', () => {
    const path = over(3);
    expect(findEarlierRun(folder, { ...facts, startedMs: START + 3 * 3_600_000 })?.claim.release()).toBeUndefined();
    const found = findEarlierRun(folder, { ...facts, startedMs: START + 3 * 3_600_000 });
    expect(found?.run).toBe(basename(path, '.sqlite'));
    found?.claim.release();
    goOnFor(15).close();
    expect(left(path).readings).toBe(0);
    const next = findEarlierRun(folder, { ...facts, startedMs: START + 3 * 3_600_000 });
    expect(next).toBeNull();
  });

  it('of an older version counts from when uptime was first counted', () => {
    const path = over();
    const whole = left(path);
    const old = new Database(path);
    old.exec('drop table uptime; drop table books; pragma user_version = 4');
    old.close();
    goOnFor(13.9).close();
    expect(left(path)).toEqual(whole);
    goOnFor(0.2).close();
    expect(left(path).readings).toBe(0);
  });

  it('is young again when it is gone on with', () => {
    const run = basename(over(3), '.sqlite');
    goOnFor(0.4).close();
    expect(runsOf(folder, layout.site)[0]?.run).not.toBe(run);
    const earlier = { run, startedMs: START, endedMs: START, claim: { release: () => undefined } };
    new Journal(folder, facts, false, earlier).close();
    expect(runsOf(folder, layout.site)[0]?.run).toBe(run);
  });

  it('is left alone while another gateway has it', () => {
    const other = new Journal(folder, facts);
    minuteOf(other, START);
    other.flush();
    goOnFor(20).close();
    expect(left(other.path).readings).toBe(3);
    other.close();
  });
});

describe('the name of a run', () => {
  it('clashes with none, though the disk came back after the name was thought of', () => {
    const path = new Journal(folder, facts).path;
    const away = `${folder}-away`;
    renameSync(folder, away);
    const journal = new Journal(folder, facts, true);
    minuteOf(journal, START);
    journal.flush();
    expect(journal.state.state).toBe('failed');
    renameSync(away, folder);
    for (let time = 0; time < 9; time += 1) journal.flush();
    expect([journal.state.state, journal.path === path]).toEqual(['writing', false]);
    minuteOf(journal, START + 60_000);
    journal.close();
    const database = new Database(journal.path, { readonly: true });
    expect(count(database, 'packet')).toBe(2);
    database.close();
  });

  it('is free again with each second in which a clock without a battery begins', () => {
    const runs = [1, 2, 3].map(() => {
      const journal = new Journal(folder, facts);
      journal.close();
      return journal.run;
    });
    expect(new Set(runs).size).toBe(3);
  });
});

describe('the room on the disk', () => {
  it('is said when it gets short, and then less is kept', () => {
    expect(spaceOf(2e9)).toEqual({ keepAllMs: 14 * DAY, words: null });
    expect(spaceOf(3e8)).toEqual({
      keepAllMs: DAY,
      words: expect.stringContaining('nearly full: 300 MB left') as string,
    });
    expect([spaceOf(3e8, 1e7).words, spaceOf(3e8, 1e6).words]).toEqual([
      expect.stringContaining('300 MB left, enough for about 30 h.'),
      expect.stringContaining('300 MB left, enough for about 12 days.'),
    ]);
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
