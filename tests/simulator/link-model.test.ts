/**
 * The habits of the road, measured from what arrives: loss and its bursts, doubles, backlogs, clocks; and none when
 * tidy.
 */
import { describe, expect, it } from 'vitest';
import { Post } from '../../simulator/link-model.ts';
import { parseScenario } from '../../simulator/scenario.ts';
import type { Sample } from '../../simulator/sensors.ts';
import { siteLayout, START_MS } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const end = layout.sensors.find(({ id }) => id === 'end-a-pressure')!;
const HOUR_S = 3_600;

/** Second of arrival and dated time of everything that one device sent in the time given. */
function travel(
  seed: number,
  telemetry: 'tidy' | 'field',
  seconds: number,
): { readonly atS: number; readonly sample: Sample }[] {
  const post = new Post(seed, START_MS, telemetry);
  return Array.from({ length: seconds }, (_, second) => {
    const nowMs = START_MS + second * 1_000;
    return post.pass([{ sensor: end, value: second, timeMs: nowMs }], nowMs).map((sample) => ({ atS: second, sample }));
  }).flat();
}

const SEEDS = Array.from({ length: 60 }, (_, index) => 700 + index);
const journeys = SEEDS.map((seed) => travel(seed, 'field', HOUR_S));
const sent = SEEDS.length * HOUR_S;

describe('the road in the field', () => {
  it('is the same for the same seed', () => {
    expect(travel(5, 'field', 600)).toEqual(travel(5, 'field', 600));
    expect(travel(5, 'field', 600)).not.toEqual(travel(6, 'field', 600));
  });

  it('loses 2 to 10 of a hundred, and more in gaps, in bursts of about four', () => {
    const arrived = journeys.map((journey) => new Set(journey.map(({ sample }) => sample.value)));
    const lost = 1 - arrived.reduce((sum, values) => sum + values.size, 0) / sent;
    expect(lost).toBeGreaterThan(0.04);
    expect(lost).toBeLessThan(0.1);
    const bursts: number[] = [];
    for (const values of arrived) {
      let run = 0;
      for (let second = 0; second < HOUR_S; second += 1) {
        if (!values.has(second)) run += 1;
        else if (run > 0) {
          if (run < 40) bursts.push(run);
          run = 0;
        }
      }
    }
    const mean = bursts.reduce((sum, run) => sum + run, 0) / bursts.length;
    expect(mean).toBeGreaterThan(3);
    expect(mean).toBeLessThan(5);
  });

  it('doubles about one in a hundred and brings some late and out of order', () => {
    const all = journeys.flat().length;
    const doubled =
      all - journeys.reduce((sum, journey) => sum + new Set(journey.map(({ sample }) => sample.value)).size, 0);
    expect(doubled / all).toBeGreaterThan(0.005);
    expect(doubled / all).toBeLessThan(0.015);
    const late = journeys.flat().filter(({ atS, sample }) => atS - sample.value > 0 && atS - sample.value <= 4).length;
    expect(late / all).toBeGreaterThan(0.004);
    const backwards = journeys.flatMap((journey) =>
      journey.filter(({ sample }, index) => index > 0 && sample.value < journey[index - 1]!.sample.value),
    );
    expect(backwards.length).toBeGreaterThan(0);
  });

  it('has gaps of minutes, after which a backlog comes at once', () => {
    const batches = journeys.flatMap((journey) => {
      const perSecond = new Map<number, number>();
      for (const { atS } of journey) perSecond.set(atS, (perSecond.get(atS) ?? 0) + 1);
      return [...perSecond.values()].filter((count) => count > 20);
    });
    expect(batches.length).toBeGreaterThan(5);
    expect(Math.max(...batches)).toBeLessThanOrEqual(242);
  });

  it('has a few clocks that start at 1970 and a few that are minutes off; the rest are true', () => {
    const offs = Array.from({ length: 600 }, (_, seed) => travel(seed, 'field', 30)[0]!).map(
      ({ sample }) => sample.timeMs - (START_MS + sample.value * 1_000),
    );
    const at1970 = offs.filter((off) => off < -1e11).length;
    const minutes = offs.filter((off) => off !== 0 && Math.abs(off) <= 240_000).length;
    expect(at1970).toBeGreaterThan(10);
    expect(at1970).toBeLessThan(45);
    expect(minutes).toBeGreaterThan(2);
    expect(minutes).toBeLessThan(25);
    expect(offs.filter((off) => off === 0).length).toBe(600 - at1970 - minutes);
  });
});

it('a tidy road brings everything once, in time and order', () => {
  expect(travel(3, 'tidy', 300).map(({ atS, sample }) => [atS, sample.value, sample.timeMs])).toEqual(
    Array.from({ length: 300 }, (_, second) => [second, second, START_MS + second * 1_000]),
  );
});

it('a scenario file says which road it is', () => {
  const parsed = parseScenario('begins: running\ntelemetry: field\n', 'mine.yaml');
  expect(parsed).toMatchObject({ ok: true, scenario: { telemetry: 'field' } });
  expect(parseScenario('begins: running\ntelemetry: rough\n', 'mine.yaml')).toMatchObject({
    ok: false,
    faults: [expect.stringMatching(/line 2.*'tidy' or 'field'/)],
  });
});
