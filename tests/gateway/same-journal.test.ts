/** What a run loop wrote down and showed: the same journal played into a fresh core shows the same. */
import { describe, expect, it } from 'vitest';
import type { Entry } from '../../config/wire/entry.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { Intake } from '../../gateway/ingest/intake.ts';
import type { RunLoop } from '../../gateway/site/run-loop.ts';
import { loopBench } from '../support/loop-bench.ts';

const bench = loopBench();
const { layout } = bench;

describe('the same journal', () => {
  function run(): RunLoop {
    const site = bench.loop({ makeWatch: createWatch });
    for (let quarter = 0; quarter < 400; quarter += 1) {
      bench.wallMs += 250;
      if (quarter % 4 === 1) {
        const wobble = Math.sin(quarter) * 800;
        bench.send(site, [
          { bn: 'box:', n: 'discharge', u: 'Pa', v: 700_000 + wobble },
          { n: 'suction', u: 'Pa', v: -9_000 + wobble / 10 },
          { n: 'flow', u: 'm3/s', v: 0.0035 + wobble / 1e8 },
          { n: 'speed', u: 'Hz', v: 60 },
          { n: 'level', u: 'm', v: 0.5 },
        ]);
        if (quarter > 200) bench.send(site, [{ n: 'pressure', u: 'Pa', v: 400_000 + 3 * wobble }], 'end-a/senml');
      }
      if (quarter === 222) site.enter({ kind: 'mode', by: 'ab', mode: 'refuelling', minutes: 5 });
      if (quarter === 300) site.enter({ kind: 'note', by: 'ab', words: 'walked line A' });
      if (quarter >= 301) bench.send(site, [{ n: 'p1', u: 'Pa', v: 390_000 + 7 * quarter }], 'spare/senml');
      if (quarter === 320)
        expect(
          site.enter({ kind: 'assign', by: 'ab', device: 'spare', record: 'p1', sensor: 'end-a-pressure' }),
        ).toBeNull();
      site.tick();
    }
    site.close();
    return site;
  }

  it('played again gives the same pictures', () => {
    const site = run();
    const [{ started_ms: startedMs }] = bench.rows(site, 'select started_ms from run') as [{ started_ms: number }];
    const packets = bench.rows(site, 'select * from packet order by number') as {
      number: number;
      topic: string;
      payload: Buffer;
      received_ms: number;
      retained: number;
    }[];
    const entries = bench.rows(site, 'select * from entry where refusal is null order by number') as {
      at_ms: number;
      after_packet: number;
      body: string;
    }[];
    const watch = createWatch(layout, { simulated: false });
    const intake = new Intake(layout);
    const again = new Map<number, string>();
    let frameMs = startedMs;
    const advance = (toMs: number): void => {
      for (; frameMs <= toMs; frameMs += 1_000) {
        const picture = watch.advance(frameMs);
        if (picture) again.set(picture.atMs, JSON.stringify(picture));
      }
      watch.advance(toMs);
    };
    advance(startedMs);
    for (const packet of packets) {
      advance(packet.received_ms);
      const taken = intake.take({ ...packet, receivedMs: packet.received_ms, retained: packet.retained === 1 }, 1);
      for (const { live, ...reading } of taken.readings) if (live) watch.take(reading);
      for (const entry of entries.filter(({ after_packet: after }) => after === packet.number)) {
        advance(entry.at_ms);
        watch.enter(JSON.parse(entry.body) as Entry, entry.at_ms);
        intake.heed(JSON.parse(entry.body) as Entry, entry.at_ms);
      }
    }
    const compared = bench.shown.filter(({ atMs }) => again.has(atMs));
    expect(compared.length).toBeGreaterThan(90);
    for (const picture of compared) expect(again.get(picture.atMs)).toBe(JSON.stringify(picture));
    expect(bench.shown.at(-1)?.notes.length).toBeGreaterThan(0);
  });
});
