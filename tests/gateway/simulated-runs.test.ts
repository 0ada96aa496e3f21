/** Runs that a simulation begins or marks, and runs that begin while the disk fails. */
import Database from 'better-sqlite3';
import { renameSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { SourcePacket } from '../../gateway/ingest/transport/mqtt-source.ts';
import type { Hearing } from '../../gateway/ingest/transport/parallel-connection.ts';
import { loopBench, START } from '../support/loop-bench.ts';

const SIM = 1_780_000_000_000;
const bench = loopBench();

describe('while the disk fails', () => {
  const pack = (more: object): SourcePacket => ({
    topic: 'wetdown/larch-cove/pump-box/senml',
    payload: Buffer.from(JSON.stringify([{ bt: START / 1_000, n: 'discharge', u: 'Pa', v: 5 }])),
    retained: false,
    ...more,
  });

  it('the kept session is left to the broker, and taken up again after; what came by both is one', () => {
    const heard: Hearing[] = [];
    const site = bench.loop({
      senders: {
        hear: (how) => void (heard.at(-1) !== how && heard.push(how)),
        again: () => expect.unreachable('nothing was lost'),
      },
    });
    site.connection('connected');
    let acknowledged = 0;
    const pass = (seconds: number): void => {
      bench.wallMs += 1_000 * seconds;
      site.tick();
    };
    pass(1);
    const away = `${bench.folder}-away`;
    renameSync(bench.folder, away);
    site.packet(pack({ along: true }));
    pass(1);
    expect([heard, bench.calls.filter((call) => call.startsWith('take'))]).toEqual([
      ['kept', 'along'],
      ['take discharge 5'],
    ]);
    renameSync(away, bench.folder);
    for (let second = 0; second < 5; second += 1) pass(1);
    site.packet(pack({ messageId: 1, acknowledge: () => void (acknowledged += 1) }));
    pass(1);
    expect([heard.at(-1), acknowledged, site.latest?.feed.rejected[0]?.count]).toEqual(['both', 1, 1]);
    pass(12);
    expect(heard).toEqual(['kept', 'along', 'both', 'kept']);
    site.close();
    expect(bench.rows(site, 'select count(*) as n from packet')).toEqual([{ n: 1 }]);
  });

  it('what is lost with a run that could not be written was not acknowledged, and is asked for again', () => {
    let [again, acknowledged] = [0, 0];
    const site = bench.loop({ senders: { again: () => void (again += 1) } });
    const sendAgain = (): void => site.packet(pack({ messageId: 1, acknowledge: () => void (acknowledged += 1) }));
    const away = `${bench.folder}-away`;
    renameSync(bench.folder, away);
    sendAgain();
    site.tick();
    bench.wallMs -= 3_600_000;
    site.tick();
    expect([bench.restarts, again, acknowledged, site.latest?.feed.journal.state]).toEqual([1, 0, 0, 'failed']);
    renameSync(away, bench.folder);
    for (let second = 0; second < 5; second += 1) site.tick();
    expect([again, acknowledged]).toEqual([1, 0]);
    sendAgain();
    site.tick();
    expect([again, acknowledged]).toEqual([1, 1]);
    site.close();
    expect(bench.rows(site, 'select count(*) as n from packet')).toEqual([{ n: 1 }]);
  });
});

describe('simulated runs', () => {
  it('begin anew when a simulation takes over, are marked for good, and so is the run before', () => {
    const site = bench.loop();
    const before = site.run.name;
    bench.send(site, [{ n: 'discharge', u: 'Pa', v: 5 }]);
    bench.wallMs += 1_000;
    bench.send(site, { timeMs: SIM, speed: 10 }, 'simulation');
    site.tick();
    expect([bench.restarts, site.run.startedMs, site.run.name === before, bench.shown.at(-1)?.simulated]).toEqual([
      1,
      SIM,
      false,
      true,
    ]);
    bench.wallMs += 60_000;
    site.tick();
    expect(bench.shown.at(-1)?.simulated).toBe(true);
    expect(bench.rows(site, 'select simulated, started_ms from run')).toEqual([{ simulated: 1, started_ms: SIM }]);
    site.close();
    const old = new Database(join(bench.folder, `${before}.sqlite`), { readonly: true });
    expect(old.prepare('select simulated from run').get()).toEqual({ simulated: 1 });
    old.close();
  });

  it('are marked from the start with the bundled simulator, and go on in the same run while its time fits', () => {
    const site = bench.loop({ bundledSimulator: true });
    site.tick();
    expect(bench.shown.at(-1)?.simulated).toBe(true);
    bench.send(site, { timeMs: START + 1_500, speed: 1 }, 'simulation');
    expect(bench.restarts).toBe(0);
    site.close();
    expect(bench.rows(site, 'select simulated from run')).toEqual([{ simulated: 1 }]);
  });

  it('begin with the first packet that says it is simulated, even before any beat', () => {
    const site = bench.loop();
    const before = site.run.name;
    bench.send(site, [{ n: 'discharge', u: 'Pa', v: 5, simulated: true }]);
    bench.wallMs += 1_000;
    site.tick();
    expect([bench.restarts, site.run.name === before, bench.shown.at(-1)?.simulated]).toEqual([1, false, true]);
    bench.send(site, [{ n: 'flow', u: 'm3/s', v: 0 }]);
    expect(bench.restarts).toBe(1);
    site.close();
    expect(bench.rows(site, 'select simulated, (select count(*) from reading) as n from run')).toEqual([
      { simulated: 1, n: 2 },
    ]);
  });

  it('begin even while the disk fails, and are written when it is back', () => {
    const site = bench.loop();
    const away = `${bench.folder}-away`;
    renameSync(bench.folder, away);
    bench.wallMs += 1_000;
    bench.send(site, { timeMs: SIM, speed: 1 }, 'simulation');
    bench.send(site, [{ n: 'discharge', u: 'Pa', v: 5 }]);
    site.tick();
    expect([bench.shown.at(-1)?.simulated, site.latest?.feed.journal.state]).toEqual([true, 'failed']);
    renameSync(away, bench.folder);
    site.close();
    expect(bench.rows(site, 'select simulated, (select count(*) from reading) as n from run')).toEqual([
      { simulated: 1, n: 1 },
    ]);
  });

  it('do not come from a retained beat: that simulation may be long over', () => {
    const site = bench.loop();
    site.packet({
      topic: 'wetdown/larch-cove/simulation',
      payload: Buffer.from(JSON.stringify({ timeMs: SIM, speed: 1 })),
      retained: true,
    });
    site.tick();
    expect([bench.restarts, bench.shown.at(-1)?.simulated]).toEqual([0, false]);
    site.close();
  });
});
