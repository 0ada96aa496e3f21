/** The loop between ingest, journal and core: order, what comes twice, what is refused, a core that throws. */
import { describe, expect, it } from 'vitest';
import { loopBench, START } from '../support/loop-bench.ts';

/** A simulation's own time. */
const SIM = 1_780_000_000_000;
const bench = loopBench();

describe('order', () => {
  it('moves time to the receipt of a packet before its readings, and leaves late ones out', () => {
    const site = bench.loop();
    bench.wallMs += 700;
    bench.send(site, [
      { n: 'discharge', u: 'Pa', v: 5 },
      { n: 'flow', u: 'm3/s', v: 0 },
      { n: 'discharge', u: 'Pa', v: 4, t: -60 },
    ]);
    bench.wallMs += 400;
    site.tick();
    expect(bench.calls).toEqual(['advance 0', 'advance 700', 'take discharge 5', 'take flow 0', 'advance 1100']);
    site.close();
    expect(bench.rows(site, 'select count(*) as n from reading')).toEqual([{ n: 3 }]);
  });

  it('journals what a person said, taken or refused, at once', () => {
    const site = bench.loop();
    expect(site.enter({ kind: 'note', by: 'ab', words: 'x' })).toBeNull();
    expect(site.enter({ kind: 'acknowledge', by: 'ab', alarm: 'y' })).toBe('There is no such alarm.');
    expect(bench.rows(site, 'select kind, refusal from entry')).toEqual([
      { kind: 'note', refusal: null },
      { kind: 'acknowledge', refusal: 'There is no such alarm.' },
    ]);
    site.close();
  });

  it('keeps its record whatever a device says the time is', () => {
    const site = bench.loop();
    for (const t of ['1e308', '-1e308', '1e300', '9.1e15', '-5e9'])
      bench.send(site, `[{"n":"discharge","u":"Pa","v":${t.length},"t":${t}}]`);
    bench.wallMs += 2_000;
    site.tick();
    expect(site.latest?.feed.journal.state).toBe('writing');
    site.close();
    expect(bench.rows(site, 'select count(device_ms) as dated, count(*) as n from reading')).toEqual([
      { dated: 0, n: 3 },
    ]);
  });

  it('journals the role of who was signed in beside the initials, and none where nobody is asked', () => {
    const site = bench.loop();
    site.enter({ kind: 'note', by: 'ab', words: 'x' }, 'work');
    site.enter({ kind: 'note', by: 'cd', words: 'y' });
    const bodies = bench.rows(site, 'select "by", body from entry order by number') as { by: string; body: string }[];
    expect(bodies.map(({ by, body }) => [by, (JSON.parse(body) as { role?: string }).role])).toEqual([
      ['ab', 'work'],
      ['cd', undefined],
    ]);
    site.close();
  });
});

describe('between pictures', () => {
  it('tells the newest value of what was heard, once, with its age and mark', () => {
    const site = bench.loop();
    bench.wallMs += 700;
    bench.send(site, [
      { n: 'discharge', u: 'Pa', v: 5 },
      { n: 'flow', u: 'm3/s', v: 9 },
    ]);
    bench.wallMs += 50;
    bench.send(site, [
      { n: 'discharge', u: 'Pa', v: 6 },
      { n: 'discharge', u: 'Pa', v: 4, t: -60 },
    ]);
    const told = { atMs: START + 700, freshness: 'fresh', doubt: null };
    expect(site.news()).toEqual({
      type: 'values',
      simulated: false,
      values: [
        { ...told, channel: 'discharge', value: 6, atMs: START + 750 },
        { ...told, channel: 'flow', value: 9, doubt: 'out-of-range' },
      ],
    });
    expect(site.news().values).toEqual([]);
    bench.send(site, { timeMs: SIM, speed: 1 }, 'simulation');
    bench.send(site, [{ n: 'discharge', u: 'Pa', v: 7 }]);
    expect(site.news()).toMatchObject({ simulated: true, values: [{ value: 7, atMs: SIM }] });
    site.close();
  });
});

describe('what comes twice', () => {
  it('is one packet, one reading, nothing to the core, counted, and acknowledged all the same', () => {
    const site = bench.loop();
    bench.wallMs += 700;
    let acknowledged = 0;
    const pack = (seconds: number): Buffer =>
      Buffer.from(JSON.stringify([{ bn: 'box:', bt: START / 1_000 + seconds, n: 'discharge', u: 'Pa', v: 5 }]));
    const deliver = (seconds: number, messageId: number, again: boolean): void =>
      site.packet({
        topic: 'wetdown/larch-cove/pump-box/senml',
        payload: pack(seconds),
        retained: false,
        messageId,
        again,
        acknowledge: () => void (acknowledged += 1),
      });
    deliver(0.5, 1, false);
    deliver(0.6, 2, false);
    deliver(0.5, 1, true);
    deliver(0.6, 9, false);
    expect(acknowledged).toBe(0);
    bench.wallMs += 500;
    site.tick();
    expect(acknowledged).toBe(4);
    expect(bench.calls.filter((call) => call.startsWith('take'))).toEqual(['take discharge 5', 'take discharge 5']);
    expect(site.latest?.feed.rejected).toMatchObject([{ reason: 'ingest/duplicate', count: 2 }]);
    site.close();
    expect(bench.rows(site, 'select message_id from packet')).toEqual([{ message_id: 1 }, { message_id: 2 }]);
  });
});

describe('what is refused', () => {
  it('is kept as far as one can see why, whole if a reading came of it', () => {
    const site = bench.loop();
    const long = 'x'.repeat(5_000);
    bench.send(site, long);
    bench.send(site, [
      { n: 'discharge', u: 'Pa', v: 5, note: long },
      { n: 'flow', u: 'm3/s', v: 'none' },
    ]);
    site.close();
    const sizes = bench.rows(site, 'select length(payload) as size, verdict from packet') as {
      size: number;
      verdict: string;
    }[];
    expect(sizes).toEqual([
      { size: 1_024, verdict: 'ingest/not-json' },
      { size: expect.any(Number) as number, verdict: 'ingest/not-a-number' },
    ]);
    expect(sizes[1]?.size).toBeGreaterThan(5_000);
  });
});

describe('a core that throws', () => {
  it('leaves raw values and their age on the screen, and the frame in the record', () => {
    const site = bench.loop({ makeWatch: (_layout, { simulated }) => bench.notingWatch(simulated, START + 3_000) });
    for (let second = 1; second <= 5; second += 1) {
      bench.wallMs += 1_000;
      bench.send(site, [{ n: 'discharge', u: 'Pa', v: 100 + second }]);
      site.tick();
    }
    bench.wallMs += 30_000;
    site.tick();
    const last = bench.shown.at(-1);
    expect(last?.advice).toMatchObject({ working: false, sinceMs: START + 3_000 });
    expect(last?.channels.find(({ channel }) => channel === 'discharge')).toMatchObject({
      value: 105,
      freshness: 'stale',
      expected: null,
    });
    expect(
      new Set(
        [...(last?.lines ?? []), ...(last?.structures ?? []), ...(last?.heads ?? []), ...(last?.pumps ?? [])].map(
          ({ state }) => state,
        ),
      ),
    ).toEqual(new Set(['unknown']));
    expect(site.enter({ kind: 'note', by: 'ab', words: 'x' })).toContain('not working');
    site.close();
    expect(bench.rows(site, 'select doing, at_ms, after_packet from breakage')).toEqual([
      { doing: 'advance', at_ms: START + 3_000, after_packet: 3 },
    ]);
    expect(bench.rows(site, 'select count(*) as n from reading')).toEqual([{ n: 5 }]);
  });
});
