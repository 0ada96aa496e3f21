/**
 * A gateway that starts again on a run longer than it plays again: nothing that was counted over the run changes,
 * however and whenever it was ended; a record without counts is opened all the same, and it is said from when they
 * count.
 *
 * The twin is a core that was never interrupted. Forty minutes, of which the last ten are played again; `npm run
 * restarts` plays five hours, and the gateway's own two hours again.
 */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { differences, LongRun, troubledRun, type DiskSite } from '../support/long-run.ts';

const MINUTE = 60;

/** Before half of it is over; in a gap of the radio; while a trouble begins; long after all of it. */
const KILLED = { early: 9 * MINUTE, inGap: 21 * MINUTE + 20, inAlarm: 26 * MINUTE + 30, late: 38 * MINUTE };

let folder = '';
let long: LongRun;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-long-restart-'));
  long = new LongRun(folder, {
    ...troubledRun(1),
    seed: 9_131,
    playedMs: 600_000,
    killedAtS: Object.values(KILLED),
  });
}, 240_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** The same to a billionth: sums of the same numbers in the same order. */
function expectSame(site: DiskSite, second: number): void {
  expect(differences(long.shownAt(second), site.picture!, 1e-9)).toEqual([]);
}

describe('a gateway killed and started again', () => {
  it('has a twin of which there is something to count', () => {
    const { alarmLoad, structures, notes, alarms, setAside, gates } = long.shownAt(KILLED.late);
    expect(structures.every(({ tally }) => tally!.receivedM3 > 0.1)).toBe(true);
    expect(structures.some(({ tally }) => tally!.unknownS > 60)).toBe(true);
    expect(alarmLoad!.byPriority.medium + alarmLoad!.byPriority.low).toBeGreaterThan(8);
    expect([notes.length > 20, alarms.length > 0, setAside.length]).toEqual([true, true, 1]);
    expect(gates.find(({ gate }) => gate === 'thief-e')?.opening).toBe(0);
  });

  it.each(Object.entries(KILLED))(
    '%s: counts on as if nothing had been',
    (_when, killedAtS) => {
      const site = long.goOn(killedAtS);
      long.feed(site, killedAtS, killedAtS + 1);
      expectSame(site, killedAtS + 1);
      long.feed(site, killedAtS + 1, killedAtS + 60);
      expectSame(site, killedAtS + 60);
      site.loop.close();
    },
    60_000,
  );

  it('twice in a row, the second time before it has worked through its record', () => {
    const site = long.goOn(KILLED.inAlarm);
    site.loop.close();
    site.start();
    site.loop.close();
    site.start();
    site.loop.tick();
    long.feed(site, KILLED.inAlarm, KILLED.inAlarm + 20);
    expectSame(site, KILLED.inAlarm + 20);
    site.loop.close();
  }, 180_000);

  it('on a record of an older version says from when it counts, and has the alarms that stand', () => {
    const killedAtS = KILLED.late;
    const site = long.goOn(killedAtS);
    site.loop.close();
    const database = new Database(join(site.folder, `${site.loop.run.name}.sqlite`));
    database.exec('delete from books');
    database.close();
    site.start();
    site.loop.tick();
    long.feed(site, killedAtS, killedAtS + 5);
    const { structures, alarmLoad, notes } = site.picture!;
    const countsFromMs = long.shownAt(killedAtS).atMs - 600_000;
    for (const { structure, tally } of structures) {
      const whole = long.shownAt(killedAtS).structures.find((one) => one.structure === structure)!.tally!;
      if (tally!.sinceMs !== null) expect(tally!.sinceMs).toBeGreaterThanOrEqual(countsFromMs);
      expect(tally!.receivedM3).toBeLessThan(whole.receivedM3);
    }
    expect(alarmLoad!.sinceMs).toBeGreaterThanOrEqual(countsFromMs);
    expect(notes.some(({ words }) => words.startsWith('Water totals and alarm load count from here'))).toBe(true);
    site.loop.close();
  }, 180_000);
});
