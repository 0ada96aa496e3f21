/**
 * The loop between ingest, journal and core: order, simulated runs, a core that throws, and the same journal played
 * again.
 */
import Database from 'better-sqlite3';
import { mkdtempSync, renameSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Entry, Picture } from '../../config/wire/wire.ts';
import type { Hearing } from '../../gateway/ingest/transport/parallel-connection.ts';
import { Intake } from '../../gateway/ingest/intake.ts';
import type { SourcePacket } from '../../gateway/ingest/transport/mqtt-source.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import type { RunParts } from '../../gateway/site/run.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { createWatch, type Watch } from '../../gateway/core/watch.ts';
import { blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout, text } = demoSite();
const START = 1_790_000_000_000;
const SIM = 1_780_000_000_000;

let folder = '';
let wallMs = START;
let shown: Picture[] = [];
let restarts = 0;
let calls: string[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-loop-'));
  wallMs = START;
  shown = [];
  restarts = 0;
  calls = [];
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** Writes down what it is told, in order; throws when it is told to advance to `breaksAtMs`. */
function notingWatch(simulated: boolean, breaksAtMs = Infinity): Watch {
  return {
    take: (reading) => void calls.push(`take ${reading.channel} ${reading.value}`),
    silence: (channel) => void calls.push(`silence ${channel}`),
    books: () => '',
    restore: () => undefined,
    enter: (entry) => {
      calls.push(`enter ${entry.kind}`);
      return entry.kind === 'acknowledge' ? 'There is no such alarm.' : null;
    },
    advance: (nowMs) => {
      calls.push(`advance ${nowMs - START}`);
      if (nowMs >= breaksAtMs) throw new Error('not finite');
      return blankPicture(Math.floor(nowMs / 1_000) * 1_000, { simulated });
    },
  };
}

function loop(changes: Partial<RunParts> = {}): RunLoop {
  return new RunLoop({
    layout,
    layoutText: text,
    software: 'test',
    bundledSimulator: false,
    broker: 'mqtt://127.0.0.1:1883',
    wallMs: () => wallMs,
    makeWatch: (_layout, { simulated }) => notingWatch(simulated),
    openJournal: (facts, patient) => new Journal(folder, facts, patient),
    show: (picture) => void shown.push(picture),
    restarted: () => void (restarts += 1),
    ...changes,
  });
}

function send(site: RunLoop, payload: unknown, leaf = 'pump-box/senml'): void {
  site.packet({
    topic: `wetdown/larch-cove/${leaf}`,
    payload: Buffer.from(typeof payload === 'string' ? payload : JSON.stringify(payload)),
    retained: false,
  });
}

function rows(site: RunLoop, query: string): unknown[] {
  const database = new Database(join(folder, `${site.run.name}.sqlite`), { readonly: true });
  try {
    return database.prepare(query).all();
  } finally {
    database.close();
  }
}

describe('order', () => {
  it('moves time to the receipt of a packet before its readings, and leaves late ones out', () => {
    const site = loop();
    wallMs += 700;
    send(site, [
      { n: 'discharge', u: 'Pa', v: 5 },
      { n: 'flow', u: 'm3/s', v: 0 },
      { n: 'discharge', u: 'Pa', v: 4, t: -60 },
    ]);
    wallMs += 400;
    site.tick();
    expect(calls).toEqual(['advance 0', 'advance 700', 'take discharge 5', 'take flow 0', 'advance 1100']);
    site.close();
    expect(rows(site, 'select count(*) as n from reading')).toEqual([{ n: 3 }]);
  });

  it('journals what a person said, taken or refused, at once', () => {
    const site = loop();
    expect(site.enter({ kind: 'note', by: 'ab', words: 'x' })).toBeNull();
    expect(site.enter({ kind: 'acknowledge', by: 'ab', alarm: 'y' })).toBe('There is no such alarm.');
    expect(rows(site, 'select kind, refusal from entry')).toEqual([
      { kind: 'note', refusal: null },
      { kind: 'acknowledge', refusal: 'There is no such alarm.' },
    ]);
    site.close();
  });

  it('keeps its record whatever a device says the time is', () => {
    const site = loop();
    for (const t of ['1e308', '-1e308', '1e300', '9.1e15', '-5e9'])
      send(site, `[{"n":"discharge","u":"Pa","v":${t.length},"t":${t}}]`);
    wallMs += 2_000;
    site.tick();
    expect(site.latest?.feed.journal.state).toBe('writing');
    site.close();
    expect(rows(site, 'select count(device_ms) as dated, count(*) as n from reading')).toEqual([{ dated: 0, n: 3 }]);
  });

  it('journals the role of who was signed in beside the initials, and none where nobody is asked', () => {
    const site = loop();
    site.enter({ kind: 'note', by: 'ab', words: 'x' }, 'work');
    site.enter({ kind: 'note', by: 'cd', words: 'y' });
    const bodies = rows(site, 'select "by", body from entry order by number') as { by: string; body: string }[];
    expect(bodies.map(({ by, body }) => [by, (JSON.parse(body) as { role?: string }).role])).toEqual([
      ['ab', 'work'],
      ['cd', undefined],
    ]);
    site.close();
  });
});

describe('between pictures', () => {
  it('tells the newest value of what was heard, once, with its age and mark', () => {
    const site = loop();
    wallMs += 700;
    send(site, [
      { n: 'discharge', u: 'Pa', v: 5 },
      { n: 'flow', u: 'm3/s', v: 9 },
    ]);
    wallMs += 50;
    send(site, [
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
    send(site, { timeMs: SIM, speed: 1 }, 'simulation');
    send(site, [{ n: 'discharge', u: 'Pa', v: 7 }]);
    expect(site.news()).toMatchObject({ simulated: true, values: [{ value: 7, atMs: SIM }] });
    site.close();
  });
});

describe('what comes twice', () => {
  it('is one packet, one reading, nothing to the core, counted, and acknowledged all the same', () => {
    const site = loop();
    wallMs += 700;
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
    wallMs += 500;
    site.tick();
    expect(acknowledged).toBe(4);
    expect(calls.filter((call) => call.startsWith('take'))).toEqual(['take discharge 5', 'take discharge 5']);
    expect(site.latest?.feed.rejected).toMatchObject([{ reason: 'ingest/duplicate', count: 2 }]);
    site.close();
    expect(rows(site, 'select message_id from packet')).toEqual([{ message_id: 1 }, { message_id: 2 }]);
  });
});

describe('while the disk fails', () => {
  const pack = (more: object): SourcePacket => ({
    topic: 'wetdown/larch-cove/pump-box/senml',
    payload: Buffer.from(JSON.stringify([{ bt: START / 1_000, n: 'discharge', u: 'Pa', v: 5 }])),
    retained: false,
    ...more,
  });

  it('the kept session is left to the broker, and taken up again after; what came by both is one', () => {
    const heard: Hearing[] = [];
    const site = loop({
      senders: {
        hear: (how) => void (heard.at(-1) !== how && heard.push(how)),
        again: () => expect.unreachable('nothing was lost'),
      },
    });
    site.connection('connected');
    let acknowledged = 0;
    const pass = (seconds: number): void => {
      wallMs += 1_000 * seconds;
      site.tick();
    };
    pass(1);
    const away = `${folder}-away`;
    renameSync(folder, away);
    site.packet(pack({ along: true }));
    pass(1);
    expect([heard, calls.filter((call) => call.startsWith('take'))]).toEqual([['kept', 'along'], ['take discharge 5']]);
    renameSync(away, folder);
    for (let second = 0; second < 5; second += 1) pass(1);
    site.packet(pack({ messageId: 1, acknowledge: () => void (acknowledged += 1) }));
    pass(1);
    expect([heard.at(-1), acknowledged, site.latest?.feed.rejected[0]?.count]).toEqual(['both', 1, 1]);
    pass(12);
    expect(heard).toEqual(['kept', 'along', 'both', 'kept']);
    site.close();
    expect(rows(site, 'select count(*) as n from packet')).toEqual([{ n: 1 }]);
  });

  it('what is lost with a run that could not be written was not acknowledged, and is asked for again', () => {
    let [again, acknowledged] = [0, 0];
    const site = loop({ senders: { again: () => void (again += 1) } });
    const send = (): void => site.packet(pack({ messageId: 1, acknowledge: () => void (acknowledged += 1) }));
    const away = `${folder}-away`;
    renameSync(folder, away);
    send();
    site.tick();
    wallMs -= 3_600_000;
    site.tick();
    expect([restarts, again, acknowledged, site.latest?.feed.journal.state]).toEqual([1, 0, 0, 'failed']);
    renameSync(away, folder);
    for (let second = 0; second < 5; second += 1) site.tick();
    expect([again, acknowledged]).toEqual([1, 0]);
    send();
    site.tick();
    expect([again, acknowledged]).toEqual([1, 1]);
    site.close();
    expect(rows(site, 'select count(*) as n from packet')).toEqual([{ n: 1 }]);
  });
});

describe('what is refused', () => {
  it('is kept as far as one can see why, whole if a reading came of it', () => {
    const site = loop();
    const long = 'x'.repeat(5_000);
    send(site, long);
    send(site, [
      { n: 'discharge', u: 'Pa', v: 5, note: long },
      { n: 'flow', u: 'm3/s', v: 'none' },
    ]);
    site.close();
    const sizes = rows(site, 'select length(payload) as size, verdict from packet') as {
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

describe('simulated runs', () => {
  it('begin anew when a simulation takes over, are marked for good, and so is the run before', () => {
    const site = loop();
    const before = site.run.name;
    send(site, [{ n: 'discharge', u: 'Pa', v: 5 }]);
    wallMs += 1_000;
    send(site, { timeMs: SIM, speed: 10 }, 'simulation');
    site.tick();
    expect([restarts, site.run.startedMs, site.run.name === before, shown.at(-1)?.simulated]).toEqual([
      1,
      SIM,
      false,
      true,
    ]);
    wallMs += 60_000;
    site.tick();
    expect(shown.at(-1)?.simulated).toBe(true);
    expect(rows(site, 'select simulated, started_ms from run')).toEqual([{ simulated: 1, started_ms: SIM }]);
    site.close();
    const old = new Database(join(folder, `${before}.sqlite`), { readonly: true });
    expect(old.prepare('select simulated from run').get()).toEqual({ simulated: 1 });
    old.close();
  });

  it('are marked from the start with the bundled simulator, and go on in the same run while its time fits', () => {
    const site = loop({ bundledSimulator: true });
    site.tick();
    expect(shown.at(-1)?.simulated).toBe(true);
    send(site, { timeMs: START + 1_500, speed: 1 }, 'simulation');
    expect(restarts).toBe(0);
    site.close();
    expect(rows(site, 'select simulated from run')).toEqual([{ simulated: 1 }]);
  });

  it('begin with the first packet that says it is simulated, even before any beat', () => {
    const site = loop();
    const before = site.run.name;
    send(site, [{ n: 'discharge', u: 'Pa', v: 5, simulated: true }]);
    wallMs += 1_000;
    site.tick();
    expect([restarts, site.run.name === before, shown.at(-1)?.simulated]).toEqual([1, false, true]);
    send(site, [{ n: 'flow', u: 'm3/s', v: 0 }]);
    expect(restarts).toBe(1);
    site.close();
    expect(rows(site, 'select simulated, (select count(*) from reading) as n from run')).toEqual([
      { simulated: 1, n: 2 },
    ]);
  });

  it('begin even while the disk fails, and are written when it is back', () => {
    const site = loop();
    const away = `${folder}-away`;
    renameSync(folder, away);
    wallMs += 1_000;
    send(site, { timeMs: SIM, speed: 1 }, 'simulation');
    send(site, [{ n: 'discharge', u: 'Pa', v: 5 }]);
    site.tick();
    expect([shown.at(-1)?.simulated, site.latest?.feed.journal.state]).toEqual([true, 'failed']);
    renameSync(away, folder);
    site.close();
    expect(rows(site, 'select simulated, (select count(*) from reading) as n from run')).toEqual([
      { simulated: 1, n: 1 },
    ]);
  });

  it('do not come from a retained beat: that simulation may be long over', () => {
    const site = loop();
    site.packet({
      topic: 'wetdown/larch-cove/simulation',
      payload: Buffer.from(JSON.stringify({ timeMs: SIM, speed: 1 })),
      retained: true,
    });
    site.tick();
    expect([restarts, shown.at(-1)?.simulated]).toEqual([0, false]);
    site.close();
  });
});

describe('a core that throws', () => {
  it('leaves raw values and their age on the screen, and the frame in the record', () => {
    const site = loop({ makeWatch: (_layout, { simulated }) => notingWatch(simulated, START + 3_000) });
    for (let second = 1; second <= 5; second += 1) {
      wallMs += 1_000;
      send(site, [{ n: 'discharge', u: 'Pa', v: 100 + second }]);
      site.tick();
    }
    wallMs += 30_000;
    site.tick();
    const last = shown.at(-1);
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
    expect(rows(site, 'select doing, at_ms, after_packet from breakage')).toEqual([
      { doing: 'advance', at_ms: START + 3_000, after_packet: 3 },
    ]);
    expect(rows(site, 'select count(*) as n from reading')).toEqual([{ n: 5 }]);
  });
});

describe('the same journal', () => {
  function run(): RunLoop {
    const site = loop({ makeWatch: createWatch });
    for (let quarter = 0; quarter < 400; quarter += 1) {
      wallMs += 250;
      if (quarter % 4 === 1) {
        const wobble = Math.sin(quarter) * 800;
        send(site, [
          { bn: 'box:', n: 'discharge', u: 'Pa', v: 700_000 + wobble },
          { n: 'suction', u: 'Pa', v: -9_000 + wobble / 10 },
          { n: 'flow', u: 'm3/s', v: 0.0035 + wobble / 1e8 },
          { n: 'speed', u: 'Hz', v: 60 },
          { n: 'level', u: 'm', v: 0.5 },
        ]);
        if (quarter > 200) send(site, [{ n: 'pressure', u: 'Pa', v: 400_000 + 3 * wobble }], 'end-a/senml');
      }
      if (quarter === 222) site.enter({ kind: 'mode', by: 'ab', mode: 'refuelling', minutes: 5 });
      if (quarter === 300) site.enter({ kind: 'note', by: 'ab', words: 'walked line A' });
      if (quarter >= 301) send(site, [{ n: 'p1', u: 'Pa', v: 390_000 + 7 * quarter }], 'spare/senml');
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
    const [{ started_ms: startedMs }] = rows(site, 'select started_ms from run') as [{ started_ms: number }];
    const packets = rows(site, 'select * from packet order by number') as {
      number: number;
      topic: string;
      payload: Buffer;
      received_ms: number;
      retained: number;
    }[];
    const entries = rows(site, 'select * from entry where refusal is null order by number') as {
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
    const compared = shown.filter(({ atMs }) => again.has(atMs));
    expect(compared.length).toBeGreaterThan(90);
    for (const picture of compared) expect(again.get(picture.atMs)).toBe(JSON.stringify(picture));
    expect(shown.at(-1)?.notes.length).toBeGreaterThan(0);
  });
});
