/**
 * Nothing of a last picture stays known when nothing is known: every leaf is walked, and what may stay is listed here.
 * A member that is new has to be put into the maker (the compiler) or into the list (this test).
 */
import { describe, expect, it } from 'vitest';
import { namesIn, type Told } from '../../config/wire/unknown-picture.ts';
import type { Picture, PumpPicture } from '../../config/wire/wire.ts';
import { RawTier } from '../../gateway/core/raw-picture.ts';
import { doubtful } from '../../ui/state/doubtful-picture.ts';
import { demoSite } from '../support/demo-site.ts';
import { CONDITIONS } from '../ui/fixture-conditions.ts';
import { picture } from '../ui/fixture.ts';

const { layout } = demoSite();
const AT = 1_800_000_000_000;
const NEW = 'known of then';

/** As last known, and said to be: facts with a time of their own, and what people said. */
const KEPT = ['alarms', 'setAside', 'notes', 'baseline', 'mode', 'shocks'];
/** Names, what tells the picture's own time and kind, and what was measured with its age. */
const MAY_STAND = [
  'atMs',
  'simulated',
  'advice.*',
  'blind.#',
  'channels.#.channel',
  'channels.#.quantity',
  'channels.#.value',
  'channels.#.atMs',
  'channels.#.doubt',
  'channels.#.freshness',
  'pumps.#.pump',
  'supplies.#.source',
  'lines.#.line',
  'lines.#.why',
  'structures.#.structure',
  'structures.#.why',
  'heads.#.head',
  'heads.#.seenTurningMs',
];
/** What 'unknown' looks like. */
const UNKNOWN: readonly unknown[] = [null, false, 'unknown'];

function leaves(value: unknown, path = ''): [string, unknown][] {
  if (typeof value !== 'object' || value === null) return [[path, value]];
  const inside = Array.isArray(value)
    ? value.map((item: unknown) => ['#', item] as const)
    : Object.entries(value as Record<string, unknown>);
  return inside.flatMap(([name, item]) => leaves(item, path === '' ? name : `${path}.${name}`));
}

const mayStand = (path: string): boolean =>
  MAY_STAND.some((one) => one === path || (one.endsWith('.*') && path.startsWith(one.slice(0, -1))));

/** Every object of it has one member more, as a later version might. */
function withNews<Whole>(value: Whole): Whole {
  if (typeof value !== 'object' || value === null) return value;
  if (Array.isArray(value)) return value.map((item: unknown) => withNews(item)) as Whole;
  const inside = Object.entries(value as Record<string, unknown>).map(([name, item]) => [name, withNews(item)]);
  return Object.fromEntries([...inside, ['news', NEW]]) as Whole;
}

const MAKERS: readonly (readonly [string, (last: Picture) => Picture])[] = [
  ['the screen that hears nothing new', doubtful],
  ['the gateway whose diagnosis has failed', (last) => new RawTier(layout).picture(AT, AT, 'x', last, true)],
];

describe.each(MAKERS)('%s', (_who, make) => {
  it.each(CONDITIONS)('keeps nothing known of a site that was %s', (condition) => {
    const last = picture(layout, condition, AT);
    const left = leaves(make(last)).filter(
      ([path, value]) => !KEPT.includes(path.split('.')[0]!) && !mayStand(path) && !UNKNOWN.includes(value),
    );
    expect(left).toEqual([]);
    expect(make(last).channels.every(({ freshness }) => freshness === 'stale' || freshness === 'never')).toBe(true);
  });

  it('keeps nothing of a member that is new, but inside what stays as last known', () => {
    const last = withNews(picture(layout, 'faulty', AT));
    const left = leaves(make(last))
      .filter(([, value]) => value === NEW)
      .map(([path]) => path.split('.')[0]);
    expect([...new Set(left)].filter((name) => !KEPT.includes(name!) && name !== 'advice')).toEqual([]);
  });

  it('keeps what must not look as if all were well, and the mark of a simulation', () => {
    const last = picture(layout, 'faulty', AT);
    const made = make(last);
    for (const name of ['alarms', 'setAside', 'notes', 'baseline', 'shocks'] as const)
      expect(made[name], name).toEqual(last[name]);
    expect(made.alarms.length).toBeGreaterThan(0);
    expect([made.simulated, made.alarmLoad]).toEqual([true, null]);
    expect(made.heads.map(({ seenTurningMs }) => seenTurningMs)).toEqual(
      last.heads.map(({ seenTurningMs }) => seenTurningMs),
    );
  });
});

it('a mode that people set stays until its time is up, and no longer', () => {
  const last = {
    ...picture(layout, 'healthy', AT),
    mode: { name: 'filling', untilMs: AT + 60_000, by: 'AB' } as const,
  };
  const mode = (atMs: number): unknown => new RawTier(layout).picture(atMs, atMs, 'x', last, true).mode;
  expect([mode(AT), mode(AT + 60_000)]).toEqual([last.mode, null]);
});

it('with no picture before it there is a row for everything of the layout', () => {
  const made = new RawTier(layout).picture(AT, AT, 'x', null, false);
  const names = namesIn(layout);
  expect(made.heads.map(({ head }) => head)).toEqual(names.heads);
  expect([made.pumps.length, made.supplies.length, made.lines.length, made.structures.length]).toEqual([
    names.pumps.length,
    names.sources.length,
    names.lines.length,
    names.structures.length,
  ]);
  expect(made.channels.every(({ freshness }) => freshness === 'never')).toBe(true);
});

it('a gauge that stands still is called stuck in the fallback view and between pictures too', () => {
  const raw = new RawTier(layout);
  const take = (second: number, value: number): void =>
    raw.take({
      channel: 'end-c-pressure',
      value,
      atMs: AT + 1_000 * second,
      receivedMs: AT + 1_000 * second,
      deviceMs: null,
      grade: 'good',
    });
  const doubts = (second: number, last: Picture | null = null): unknown[] => [
    raw.news(AT + 1_000 * second).find(({ channel }) => channel === 'end-c-pressure')?.doubt,
    raw.picture(AT + 1_000 * second, AT, 'x', last, true).channels.find(({ channel }) => channel === 'end-c-pressure')
      ?.doubt,
  ];
  for (let second = 0; second < 20; second += 1) take(second, 400_000);
  expect(doubts(20)).toEqual(['stuck', 'stuck']);
  take(20, 401_000);
  expect(doubts(21)).toEqual([null, null]);
  // What it takes more than its own readings to see stays as the diagnosis saw it last.
  const before = picture(layout, 'healthy', AT);
  const last = {
    ...before,
    channels: before.channels.map((one) =>
      one.channel === 'end-c-pressure' ? { ...one, doubt: 'drifting' as const } : one,
    ),
  };
  expect(doubts(21, last)[1]).toBe('drifting');
});

it('the compiler asks for every member, also for one that may be left out', () => {
  type Answer<Given, Whole> = Given extends Told<Whole> ? 'taken' : 'refused';
  const whole: Answer<PumpPicture, PumpPicture> = 'taken';
  const without: Answer<Omit<PumpPicture, 'fuelM3'>, PumpPicture> = 'refused';
  const optional: Answer<PumpPicture, PumpPicture & { readonly later?: number }> = 'refused';
  expect([whole, without, optional]).toEqual(['taken', 'refused', 'refused']);
});
