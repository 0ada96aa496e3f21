/** Figures of a run from its record, against what was put in; the truth track over HTTP; a record that has holes. */
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Review } from '../../config/wire/review.ts';
import type { TruthTold } from '../../config/wire/truth.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { truthPath } from '../../gateway/journal/truth-file.ts';
import type { Replay } from '../../gateway/launch/replay-start.ts';
import { UpTimes } from '../../gateway/review/up-times.ts';
import { WaterBooks } from '../../gateway/review/water-books.ts';
import { blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';
import { recordRun, type Recorded } from '../support/recorded-run.ts';
import { replayed } from '../support/replayed-run.ts';

const { layout } = demoSite();
const PNG = Buffer.from('89504e470d0a1a0a0000000d49484452', 'hex');
let folder = '';
let recorded: Recorded;
let replay: Extract<Replay, { ok: true }>;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-review-'));
  recorded = recordRun(folder, {
    seconds: 300,
    silent: [200, 240],
    deeds: {
      60: (run) => void run.baseline(),
      90: (run) => run.start('head-off', 'a-3'),
      130: (run) =>
        run.loop.latest?.picture.alarms.forEach(({ verdict }) =>
          run.enter({ kind: 'acknowledge', by: 'QR', alarm: verdict.id }),
        ),
      150: (run) => run.repair('head-off', 'a-3'),
      180: (run) => void run.enter({ kind: 'note', by: 'QR', words: 'walked line A' }),
      250: (run) =>
        run.loop.packet({
          topic: 'wetdown/larch-cove/end-b/senml',
          payload: Buffer.from('[{"n":"pressure","u":"psi","v":55}]'),
          retained: false,
        }),
    },
  });
  replay = await replayed(recorded.path, folder);
}, 60_000);
afterAll(async () => {
  await replay.stop();
  rmSync(folder, { recursive: true, force: true });
});

async function review(): Promise<Review> {
  return (await replay.server.app.inject('/api/review')).json<Review>();
}

function tell(changes: Partial<TruthTold>): Promise<{ statusCode: number; json: <T>() => T }> {
  const told: TruthTold = {
    by: 'QR',
    what: 'head-off',
    at: 'a-3',
    fromMs: recorded.shown[90]!.atMs,
    toMs: recorded.shown[150]!.atMs,
    words: '',
    replaces: null,
    ...changes,
  };
  return replay.server.app.inject({ method: 'POST', url: '/api/review/truth', payload: told });
}

describe('figures of a run', () => {
  it('add up to its length, with the silence unknown and nothing counted up that was not', async () => {
    const { figures } = await review();
    const length = (figures.toMs - figures.fromMs) / 1_000;
    for (const row of figures.upTimes) {
      const sum = row.upS + row.shortS + row.downS + row.unknownS + row.fillingS + row.shutS;
      expect(sum).toBeCloseTo(length, 0);
      expect(row.unknownS).toBeGreaterThan(25);
      expect(row.upShare).toBeLessThan(0.95);
    }
    const inPictures = (line: string): number =>
      recorded.shown.filter(({ lines }) => lines.find((one) => one.line === line)?.state === 'as-modelled').length;
    for (const row of figures.upTimes.filter(({ kind }) => kind === 'line'))
      expect(Math.abs(row.upS - inPictures(row.id))).toBeLessThanOrEqual(3);
  });

  it('have the water of the pictures, to the flow of a minute', async () => {
    const { figures } = await review();
    const shown = recorded.shown.reduce(
      (sum, { heads }) =>
        sum +
        (heads.some(({ state }) => state === 'unknown')
          ? 0
          : heads.reduce((total, { flowM3s }) => total + (flowM3s ?? 0), 0)),
      0,
    );
    const booked = figures.zones.reduce((sum, { volumeM3 }) => sum + volumeM3, 0);
    expect(booked / shown).toBeGreaterThan(0.9);
    expect(booked / shown).toBeLessThan(1.2);
    expect(figures.pumps[0]).toMatchObject({ starts: 0, refuelled: 0 });
    expect(figures.tanks[0]!.leastM3!).toBeLessThan(figures.tanks[0]!.firstM3!);
    expect(figures.structures.every(({ receivedM3, dryS }) => receivedM3! > 0 && dryS !== null)).toBe(true);
  });

  it('say how completely each sensor was heard, and what was refused', async () => {
    const { figures } = await review();
    const flow = figures.channels.find(({ channel }) => channel === 'flow')!;
    expect(flow).toMatchObject({ gaps: 1, outOfRange: 0 });
    expect(flow.gapS).toBeCloseTo(41, 0);
    expect(flow.share).toBeCloseTo(260 / 300, 1);
    expect(figures.rejected).toEqual([{ reason: 'ingest/unknown-unit', count: 1 }]);
  });

  it('put alarms, deeds, states and the track on one line of time', async () => {
    const { timeline, simulated, replay: isReplay } = await review();
    expect([simulated, isReplay]).toEqual([true, true]);
    const [headOff] = timeline.alarms.filter(({ subject }) => subject === 'line-a');
    expect(headOff).toMatchObject({ acknowledgedBy: 'QR', goneMs: expect.any(Number) as number });
    expect(timeline.deeds.filter(({ by }) => by === 'QR').map(({ words }) => words)).toEqual([
      expect.stringContaining('took'),
      'note: walked line A',
    ]);
    for (const { spans } of timeline.lines)
      spans.slice(1).forEach((span, index) => expect(span.fromMs).toBe(spans[index]!.toMs));
  });
});

describe('the truth track', () => {
  it('gives lag and lead, and is put right without losing what was said first', async () => {
    const first = (await tell({ what: 'leak', words: 'thought so' })).json<{ number: number }>().number;
    const photo = await replay.server.app.inject({
      method: 'POST',
      url: `/api/review/truth/${first}/photo?name=coupling.png`,
      payload: PNG,
      headers: { 'content-type': 'image/png' },
    });
    expect(photo.statusCode).toBe(200);
    expect((await tell({ replaces: first, words: 'head lay in the grass' })).statusCode).toBe(200);
    await tell({ what: 'front', at: null, fromMs: recorded.shown[200]!.atMs, toMs: null });
    const { timeline, detection, figures } = await review();
    expect(timeline.truth.map(({ what, words, photos }) => [what, words, photos.map(({ name }) => name)])).toEqual([
      ['head-off', 'head lay in the grass', ['coupling.png']],
      ['front', '', []],
    ]);
    expect(detection.classes[0]).toMatchObject({ what: 'head-off', flagged: 1, missed: 0 });
    expect(detection.classes[0]!.medianLagS!).toBeGreaterThan(0);
    expect(detection.classes[0]!.medianLagS!).toBeLessThan(60);
    expect(figures.structures.every(({ leadS }) => leadS !== null && leadS > 150)).toBe(true);
    const served = await replay.server.app.inject(`/api/review/photo/${timeline.truth[0]!.photos[0]!.number}`);
    expect([served.headers['content-type'], served.rawPayload]).toEqual(['image/png', PNG]);
    expect((await tell({ replaces: first })).json<{ error: { words: string } }>().error.words).toContain(
      'has been put right already',
    );
    expect(statSync(truthPath(recorded.path)).size).toBeGreaterThan(0);
  });

  it('is in the next look back, also when another was being made', async () => {
    const [, after] = await Promise.all([
      review(),
      tell({ what: 'note', at: null, words: 'entered meanwhile' }).then(review),
    ]);
    expect(after.timeline.truth.some(({ words }) => words === 'entered meanwhile')).toBe(true);
  });

  it.each([
    [{ at: 'no-such-head' }, 422, /nothing called 'no-such-head'/],
    [{ fromMs: 1_000 }, 422, /more than a week/],
    [{ toMs: 1_700_000_000_000 }, 422, /before it began/],
    [{ by: '' }, 422, /by/],
    [{ what: 'burned' as 'note' }, 422, /what/],
    [{ replaces: 999 }, 422, /no entry 999/],
  ])('refuses %j', async (changes, status, words) => {
    const answer = await tell(changes);
    expect([answer.statusCode, answer.json<{ error: { words: string } }>().error.words]).toEqual([
      status,
      expect.stringMatching(words),
    ]);
  });

  it('takes photos only, and none too large', async () => {
    const { number } = (await tell({ what: 'note', at: null, words: 'x' })).json<{ number: number }>();
    const send = async (payload: Buffer, type: string): Promise<string> => {
      const answer = await replay.server.app.inject({
        method: 'POST',
        url: `/api/review/truth/${number}/photo`,
        payload,
        headers: { 'content-type': type },
      });
      return `${answer.statusCode} ${answer.json<{ error: { words: string } }>().error.words}`;
    };
    expect(await send(Buffer.from('<svg onload=alert(1)>'), 'image/png')).toMatch(/^422 This is no photo/);
    expect(await send(Buffer.concat([PNG, Buffer.alloc(5_000_000)]), 'image/png')).toMatch(
      /^422 The photo has 6 MB; 5 MB is the most/,
    );
    expect(await send(PNG, 'image/svg+xml')).toMatch(/^415/);
  });
});

describe('books', () => {
  const BLANK_PUMP = {
    dischargePa: null,
    suctionPa: null,
    flowM3s: null,
    rotationHz: null,
    fuelM3: null,
    fuelLeftS: null,
  };
  const at = (second: number, changes: Partial<Picture> = {}): Picture =>
    blankPicture(1_784_000_000_000 + second * 1_000, {
      lines: layout.lines.map(({ id }) => ({ line: id, state: 'as-modelled', why: '' })),
      structures: layout.structures.map(({ id }) => ({
        structure: id,
        state: 'as-modelled',
        why: '',
        flowM3s: null,
        tally: null,
      })),
      heads: layout.heads.map(({ id }) => ({
        head: id,
        state: 'flowing',
        pressurePa: 3e5,
        flowM3s: 2e-4,
        seenTurningMs: null,
      })),
      ...changes,
    });

  it('count a stretch without a record as unknown, never as up', () => {
    const times = new UpTimes(layout);
    const books = new WaterBooks(layout);
    for (const [from, to] of [
      [0, 60],
      [60, 660],
      [660, 720],
    ] as const) {
      times.hold(at(from), at(to).atMs);
      books.hold(at(from), at(to).atMs);
    }
    expect(
      times.rows.every(({ upS, unknownS, upShare }) => upS === 120 && unknownS === 600 && upShare === 120 / 720),
    ).toBe(true);
    expect(times.holes).toEqual([{ fromMs: at(60).atMs, toMs: at(660).atMs }]);
    expect(books.zones.reduce((sum, { volumeM3 }) => sum + volumeM3, 0)).toBeCloseTo(
      120 * 2e-4 * layout.heads.length,
      9,
    );
    expect(books.zones.every(({ unknownS }) => unknownS === 600)).toBe(true);
    // A depth is a volume over the ground it fell on (definition).
    for (const { depthM, volumeM3, areaM2 } of books.zones) expect(depthM).toBeCloseTo(volumeM3 / areaM2, 12);
  });

  it('do not count time before the first water, and a line that falls dry again as down', () => {
    const times = new UpTimes(layout);
    const rigged = { lines: layout.lines.map(({ id }) => ({ line: id, state: 'rigged-dry' as const, why: '' })) };
    times.hold(at(0, rigged), at(60).atMs);
    times.hold(at(60), at(90).atMs);
    times.hold(at(90, rigged), at(120).atMs);
    expect(
      times.rows
        .filter(({ kind }) => kind === 'line')
        .every(({ upS, downS, upShare }) => upS === 30 && downS === 30 && upShare === 0.5),
    ).toBe(true);
  });

  it('give a share of up time from the first second, and none to what was never more than rigged', () => {
    const times = new UpTimes(layout);
    expect(times.rows.every(({ upShare }) => upShare === null)).toBe(true);
    times.hold(at(0), at(1).atMs);
    expect(times.rows.every(({ upS, upShare }) => upS === 1 && upShare === 1)).toBe(true);
  });

  it('count for each pump how long it ran, filled, was deadheaded, was unknown, and its starts', () => {
    const books = new WaterBooks(layout);
    const [{ id }] = layout.pumps as [(typeof layout.pumps)[0]];
    const pump = (state: Picture['pumps'][number]['state']): Partial<Picture> => ({
      pumps: [
        { ...BLANK_PUMP, pump: 'another', state: 'running' },
        { ...BLANK_PUMP, pump: id, state },
      ],
    });
    const steps = [
      [0, 60, pump('stopped')],
      [60, 80, pump('starting')],
      [80, 160, pump('running')],
      [160, 170, pump('dead-head')],
      [170, 200, pump('unknown')],
      [200, 260, pump('stopped')],
      [260, 300, pump('running')],
      // Longer than a record without holes has between two pictures.
      [300, 400, pump('running')],
      [400, 405, {}],
    ] as const;
    for (const [from, to, changes] of steps) books.hold(at(from, changes), at(to).atMs);
    expect(books.pumps[0]).toMatchObject({
      pump: id,
      runS: 20 + 80 + 10 + 40,
      fillingS: 20,
      shutInS: 10,
      unknownS: 30 + 100 + 5,
      starts: 2,
    });
  });

  it('draw a line that wavers in slices under their worst state, and count it by the second all the same', () => {
    const times = new UpTimes(layout);
    const short = { lines: layout.lines.map(({ id }) => ({ line: id, state: 'running-short' as const, why: '' })) };
    for (let second = 0; second < 6_000; second += 1)
      times.hold(at(second, second % 2 === 0 || second > 5_000 ? {} : short), at(second + 1).atMs);
    const { spans } = times.spans[0]!;
    expect(spans.map(({ state }) => state)).toEqual(['running-short', 'as-modelled']);
    expect((spans[1]!.fromMs - at(0).atMs) / 1_000).toBeCloseTo(5_000, -2);
    expect(times.rows[0]).toMatchObject({ upS: 3_500, shortS: 2_500 });
  });

  it('reckon fuel over refuellings', () => {
    const books = new WaterBooks(layout);
    const capacity = layout.pumps[0]!.fuelCapacityM3;
    const burnt = Array.from({ length: 60 }, (_, minute) => capacity * (1 - 0.01 * minute));
    const poured = [0.6, 0.8, 1].map((share) => capacity * share);
    books.fuel(layout.pumps[0]!.id, [...burnt, ...poured, ...burnt.map((value) => value + 0.001 * capacity)]);
    expect(books.pumps[0]!.fuelUsedM3! / capacity).toBeCloseTo(0.59 + 0.59, 1);
    expect(books.pumps[0]!.refuelled).toBe(1);
  });
});
