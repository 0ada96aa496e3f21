/**
 * A gateway that starts again: goes on with its run, knows what it knew, raises nothing new, and tells when it may not.
 */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Alarm, Picture } from '../../config/wire/wire.ts';
import { findEarlierRun } from '../../gateway/journal/earlier-run.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import type { RunFacts } from '../../gateway/journal/run-file.ts';
import { Rebuild } from '../../gateway/site/rebuild.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { createWatch, type Watch } from '../../gateway/core/watch.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { packOf } from '../../simulator/wire.ts';
import { blankAlarm, blankPicture } from '../support/blank-picture.ts';
import { demoFacts, demoSite } from '../support/demo-site.ts';
import { scenarioNamed } from '../support/drive.ts';

const { layout, text } = demoSite();
const START = 1_790_000_000_000;
const HOUR = 3_600_000;

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-restart-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

type Shown = { readonly picture: Picture; readonly feed: FeedPicture };

/** A site whose devices do not say that they are simulated. */
class Site {
  wallMs = START;
  shown: Shown[] = [];
  loop: RunLoop;
  readonly #folder: string;
  readonly #simulation = new Simulation(layout, { seed: 9_101, startMs: START, scenario: scenarioNamed('running') });

  constructor(name: string) {
    this.#folder = mkdtempSync(join(folder, name));
    this.loop = this.start();
  }

  start(): RunLoop {
    this.loop = new RunLoop({
      layout,
      layoutText: text,
      software: 'test',
      bundledSimulator: false,
      broker: '',
      wallMs: () => this.wallMs,
      makeWatch: createWatch,
      openJournal: (facts, patient) => Journal.open(this.#folder, facts, patient),
      restarted: () => undefined,
      show: (picture, feed) => void this.shown.push({ picture, feed }),
    });
    return this.loop;
  }

  run(seconds: number): void {
    for (let second = 0; second < seconds; second += 1) {
      const samples = this.#simulation.second();
      this.wallMs = this.#simulation.nowMs + 100;
      for (const device of new Set(samples.map(({ sensor }) => sensor.device))) {
        const pack = packOf(
          layout.site,
          device,
          samples.filter(({ sensor }) => sensor.device === device),
        ).replace('"simulated":true,', '');
        this.loop.packet({
          topic: `wetdown/${layout.site}/${device}/senml`,
          payload: Buffer.from(pack),
          retained: false,
        });
      }
      this.wallMs = this.#simulation.nowMs + 900;
      this.loop.tick();
    }
  }

  /** Nobody sends and nobody listens. */
  sleep(seconds: number): void {
    for (let second = 0; second < seconds; second += 1) this.#simulation.second();
    this.wallMs += seconds * 1_000;
  }

  baseline(): ReturnType<RunLoop['enter']> {
    return this.loop.enter({ kind: 'baseline', by: 'ab', headsSeenTurning: layout.heads.map(({ id }) => id) });
  }

  rows(query: string): unknown[] {
    const database = new Database(join(this.#folder, `${this.loop.run.name}.sqlite`), { readonly: true });
    try {
      return database.prepare(query).all();
    } finally {
      database.close();
    }
  }
}

function differences(one: object, other: object): string[] {
  const [left, right] = [new Map(Object.entries(one)), new Map(Object.entries(other))];
  return [...left.keys()].filter((key) => JSON.stringify(left.get(key)) !== JSON.stringify(right.get(key)));
}

describe('a restart', () => {
  it('goes on as if nothing had been, in the same run, byte for byte', () => {
    const [twin, site] = [new Site('twin'), new Site('site')];
    for (const each of [twin, site]) {
      each.run(100);
      expect(each.baseline()).toBeNull();
      each.run(5);
    }
    const before = site.loop.run;
    site.loop.close();
    site.start();
    expect(site.loop.run).toEqual(before);
    for (const each of [twin, site]) each.run(20);
    expect(site.shown.at(-1)?.picture.baseline?.by).toBe('ab');
    const byTime = new Map(site.shown.map(({ picture }) => [picture.atMs, JSON.stringify(picture)]));
    const different = twin.shown
      .slice(-19)
      .filter(({ picture }) => byTime.get(picture.atMs) !== JSON.stringify(picture));
    expect(
      different.map(({ picture }) => differences(picture, JSON.parse(byTime.get(picture.atMs) ?? '{}') as object)),
    ).toEqual([]);
    for (const each of [twin, site]) each.loop.close();
    expect(site.rows('select count(*) as n from restart')).toEqual([{ n: 1 }]);
    expect(site.rows('select became from alarm_transition')).toEqual(twin.rows('select became from alarm_transition'));
    expect(site.rows('select count(*) as n from packet')).toEqual(twin.rows('select count(*) as n from packet'));
  });

  it('after ten minutes away keeps the baseline and raises nothing of its own', () => {
    const site = new Site('away');
    site.run(90);
    expect(site.baseline()).toBeNull();
    site.loop.close();
    site.sleep(600);
    site.start();
    site.run(60);
    const last = site.shown.at(-1)?.picture;
    expect([last?.advice.working, last?.baseline?.by, last?.pumps[0]?.state]).toEqual([true, 'ab', 'running']);
    // Meanwhile the tank went down.
    expect(last?.alarms.map(({ verdict }) => verdict.cause)).toEqual(['tank-low']);
    site.loop.close();
  });

  it('knows after it what came before it: the same packet is stored once', () => {
    const site = new Site('once');
    site.run(3);
    site.loop.close();
    const count = site.rows('select count(*) as n from packet');
    const [{ topic, payload }] = site.rows('select topic, payload from packet order by number desc limit 1') as [
      { topic: string; payload: Buffer },
    ];
    site.start();
    site.loop.packet({ topic, payload, retained: false, messageId: 5, again: false });
    site.loop.tick();
    site.loop.tick();
    site.loop.close();
    expect(site.rows('select count(*) as n from packet')).toEqual(count);
  });
});

const facts = demoFacts(START);
const packet = (atMs: number): Parameters<Journal['packet']>[0] => ({
  receivedMs: atMs,
  receivedWallMs: atMs,
  topic: `wetdown/${layout.site}/pump-box/senml`,
  payload: Buffer.from(`[{"n":"discharge","u":"Pa","v":${(atMs - START) / 1_000}}]`),
  retained: false,
  verdict: 'readings',
});

describe('which run is gone on with', () => {
  function leave(changes: Partial<RunFacts> = {}): string {
    const journal = new Journal(folder, { ...facts, ...changes });
    journal.packet(packet(START));
    journal.close();
    return journal.run;
  }
  function openAt(startedMs: number, changes: Partial<RunFacts> = {}): Journal {
    return Journal.open(folder, { ...facts, startedMs, startedWallMs: startedMs, ...changes });
  }

  it.each([
    ['the one that was left a minute ago', START + 60_000, {}, {}, true],
    ['not after a day', START + 24 * HOUR, {}, {}, false],
    ['not with a clock that was not set yet', START - HOUR, {}, {}, false],
    ['not of another layout', START + 60_000, {}, { layout: { ...layout, fingerprint: 'other' } }, false],
    ['not a simulated one', START + 60_000, { simulated: true }, {}, false],
    ['not for a simulation', START + 60_000, {}, { simulated: true }, false],
  ])('%s', (_what, atMs, before, after, goesOn) => {
    const run = leave(before);
    const journal = openAt(atMs, after);
    expect([journal.run === run, journal.earlier !== null]).toEqual([goesOn, goesOn]);
    journal.close();
  });

  it('not one that somebody else still writes; and each of two gateways goes on with its own', () => {
    const first = openAt(START);
    first.packet(packet(START));
    first.flush();
    const second = openAt(START + 1_000);
    expect(second.run).not.toBe(first.run);
    second.packet(packet(START + 1_000));
    second.close();
    const third = openAt(START + 2_000);
    expect(third.run).toBe(second.run);
    for (const journal of [first, third]) journal.close();
  });

  it('not one since which gateways have run for longer, though by the clock it was left a minute ago', () => {
    const run = leave();
    const between = new Journal(folder, facts);
    between.packet(packet(START));
    for (const hour of [0, 11, 13]) {
      between.tend(hour * HOUR);
      between.flush();
      if (hour !== 11) continue;
      const still = findEarlierRun(folder, { ...facts, startedMs: START + 60_000 });
      expect(still?.run).toBe(run);
      still?.claim.release();
    }
    const found = findEarlierRun(folder, { ...facts, startedMs: START + 60_000 });
    expect(found).toBeNull();
    between.close();
    const newest = findEarlierRun(folder, { ...facts, startedMs: START + 60_000 });
    expect(newest?.run).toBe(between.run);
    newest?.claim.release();
  });

  it('not an empty one', () => {
    new Journal(folder, facts).close();
    const journal = openAt(START + 60_000);
    expect(journal.earlier).toBeNull();
    journal.close();
  });
});

/** Notes what it is given, in minutes of the run. */
function minuteWatch(minutes: (atMs: number) => number): { watch: Watch; done: string[]; taken: number[] } {
  const done: string[] = [];
  const taken: number[] = [];
  let latestMs = 0;
  const watch: Watch = {
    silence: () => undefined,
    books: () => '',
    restore: (books, nowMs) => void done.push(`${books ?? 'counts anew'} at ${minutes(nowMs)}`),
    take: (reading) => void taken.push(reading.value / 60),
    enter: (entry) => {
      done.push(`${entry.kind} at ${minutes(latestMs)}`);
      return null;
    },
    advance: (nowMs, wasAway) => {
      if (wasAway) done.push(`away until ${minutes(nowMs)}`);
      latestMs = Math.max(latestMs, nowMs);
      return null;
    },
  };
  return { watch, done, taken };
}

describe('a long run', () => {
  it('is played too where what stands began, and goes on counting from its last whole picture', () => {
    const journal = new Journal(folder, facts);
    const at = (minute: number): number => START + 60_000 * minute;
    const alarm = (id: string, since: number, cleared: number | null = null): Alarm => {
      const blank = blankAlarm(id, { raisedMs: at(since + 1), clearedMs: cleared === null ? null : at(cleared) });
      return { ...blank, verdict: { ...blank.verdict, sinceMs: at(since) } };
    };
    for (let minute = 0; minute <= 300; minute += 1) {
      const number = journal.packet(packet(at(minute)))!;
      const heard = { atMs: at(minute), receivedMs: at(minute), deviceMs: null, grade: 'good' } as const;
      // Silent from then on; what came late for the screen is not what it was heard with.
      if (minute === 100) journal.reading({ channel: 'level', value: 7 * 60, ...heard }, true, number);
      if (minute === 101) journal.reading({ channel: 'level', value: 8 * 60, ...heard }, false, number);
      if (minute !== 299) continue;
      const alarms = [alarm('stands', 60), alarm('over', 120, 125), alarm('new', 290)];
      journal.picture(blankPicture(at(minute), { alarms }), () => 'what was counted');
    }
    journal.close();
    const { watch, done, taken } = minuteWatch((atMs) => Math.round((atMs - START) / 60_000));
    const rebuild = new Rebuild(layout, watch, journal.history(), {
      startedMs: START,
      endedMs: at(300),
      resumedMs: at(310),
    });
    rebuild.work(() => false);
    rebuild.close();
    expect(done).toEqual(['away until 180', 'what was counted at 299']);
    // Ten minutes before the onset to a minute after it was raised; then what was heard of channels that fell silent.
    expect([taken[0], taken[12], taken[13], taken[14], taken.at(-1), taken.length]).toEqual([
      50,
      62,
      7,
      180,
      300,
      13 + 1 + 121,
    ]);
  });

  it('is played around its baseline and over its last two hours; what people entered is all there', () => {
    const journal = new Journal(folder, facts);
    const minutes = (atMs: number): number => Math.round((atMs - START) / 60_000);
    for (let minute = 0; minute <= 300; minute += 1) {
      const atMs = START + 60_000 * minute;
      journal.packet(packet(atMs));
      if (minute === 10) journal.entry({ kind: 'gate', by: 'ab', gate: 'x', opening: 0 }, atMs, atMs, null);
      if (minute === 60) journal.entry({ kind: 'baseline', by: 'ab', headsSeenTurning: [] }, atMs, atMs, null);
      if (minute === 120) journal.entry({ kind: 'note', by: 'ab', words: 'x' }, atMs, atMs, null);
      if (minute === 200) journal.entry({ kind: 'note', by: 'ab', words: 'y' }, atMs, atMs, null);
    }
    journal.close();
    const done: string[] = [];
    const taken: number[] = [];
    let latestMs = 0;
    const watch: Watch = {
      silence: () => undefined,
      books: () => '',
      restore: () => undefined,
      take: (reading) => void taken.push(reading.value / 60),
      enter: (entry) => {
        done.push(`${entry.kind} at ${minutes(latestMs)}`);
        return null;
      },
      advance: (nowMs, wasAway) => {
        if (wasAway) done.push(`away until ${minutes(nowMs)}`);
        else if (latestMs > 0) expect(nowMs - latestMs).toBeLessThanOrEqual(600_000);
        latestMs = nowMs;
        return null;
      },
    };
    const rebuild = new Rebuild(layout, watch, journal.history(), {
      startedMs: START,
      endedMs: START + 300 * 60_000,
      resumedMs: START + 310 * 60_000,
    });
    let slices = 1;
    while (!rebuild.work(() => true)) slices += 1;
    rebuild.close();
    expect(done).toEqual(['gate at 45', 'baseline at 60', 'note at 60', 'away until 180', 'note at 200']);
    expect([taken[0], taken[15], taken[16], taken.at(-1), taken.length]).toEqual([45, 60, 180, 300, 16 + 121]);
    expect([slices > 100, rebuild.share(START + 300 * 60_000)]).toEqual([true, 1]);
  });
});
