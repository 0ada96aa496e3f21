/**
 * The order of need on pictures made for it: hazard, fails next, failed, longest without a look; and what each is said
 * to need.
 */
import { describe, expect, it } from 'vitest';
import type { Alarm, Picture } from '../../config/wire/wire.ts';
import { orderOfNeed, troubleOfHead } from '../../ui/state/need.ts';
import { needSentence } from '../../ui/words/need.ts';
import { seenAgoWords } from '../../ui/words/seen.ts';
import { blankAlarm } from '../support/blank-picture.ts';
import { siteLayout } from '../support/drive.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';
import { picture } from './fixture.ts';

const layout = siteLayout('larch-cove');
const NOW = 1_800_000_000_000;
const healthy = picture(layout, 'healthy', NOW);
const long = { best: 20_000, low: 15_000, high: 25_000 };

/** Runs for hours yet, and every head was seen at the same time. */
function calm(changes: Partial<Picture> = {}): Picture {
  return {
    ...healthy,
    supplies: healthy.supplies.map((supply) => ({ ...supply, emptyInS: long })),
    pumps: healthy.pumps.map((pump) => ({ ...pump, fuelLeftS: long })),
    heads: healthy.heads.map((head) => ({ ...head, seenTurningMs: NOW - 600_000 })),
    ...changes,
  };
}

const names = (of: Picture): string[] => orderOfNeed(layout, of).map(({ structure }) => structure.id);
const seen = (id: string, atMs: number | null): Picture['heads'] =>
  calm().heads.map((head) => (head.head === id ? { ...head, seenTurningMs: atMs } : head));
const say = (of: Picture, id: string): string =>
  needSentence(
    orderOfNeed(layout, of).find(({ structure }) => structure.id === id)!,
    (name) => name,
    (atMs) => (NOW - atMs) / 1_000,
    true,
  );

describe('the order of need', () => {
  it('has every structure once, by priority where nothing tells them apart', () => {
    const order = names(calm());
    expect(new Set(order).size).toBe(layout.structures.length);
    const priorities = order.map((id) => layout.structures.find((structure) => structure.id === id)!.priority);
    expect(priorities).toEqual([...priorities].sort((a, b) => a - b));
  });

  it('puts what nobody has looked at for longest first, a head never seen before any that was', () => {
    expect(names(calm({ heads: seen('g-4', NOW - 7_200_000) }))[0]).toBe('wood-pile');
    const both = seen('g-4', NOW - 7_200_000).map((head) =>
      head.head === 'f-1' ? { ...head, seenTurningMs: null } : head,
    );
    expect(names(calm({ heads: both })).slice(0, 2)).toEqual(['hill-cabin', 'wood-pile']);
  });

  it('puts what has failed before that, and what fails next before what has failed', () => {
    const state = (failed: string, short: string): Picture['structures'] =>
      calm().structures.map((one) =>
        one.structure === failed
          ? { ...one, state: 'down', why: 'no pressure at its end' }
          : one.structure === short
            ? { ...one, state: 'running-short', why: 'a leak is the likeliest reading' }
            : one,
      );
    expect(names(calm({ structures: state('store', 'wood-pile'), heads: seen('g-1', null) })).slice(0, 3)).toEqual([
      'wood-pile',
      'store',
      'workshop',
    ]);
  });

  it('takes the first of water and fuel that runs out, and what has failed no longer has time left', () => {
    const soon = { best: 1_000, low: 800, high: 1_300 };
    const dry = calm({
      supplies: calm().supplies.map((supply) => ({ ...supply, emptyInS: soon })),
      structures: calm().structures.map((one) =>
        one.structure === 'store' ? { ...one, state: 'down', why: 'no pressure at its end' } : one,
      ),
    });
    const rows = orderOfNeed(layout, dry);
    expect(rows.at(-1)).toMatchObject({ structure: { id: 'store' }, group: 'failed', left: null });
    expect(rows[0]).toMatchObject({ group: 'fails-next', left: { what: 'water', of: 'tank', estimate: soon } });
    const fuel = orderOfNeed(layout, calm({ pumps: calm().pumps.map((pump) => ({ ...pump, fuelLeftS: soon })) }));
    expect(fuel[0]!.left).toMatchObject({ what: 'fuel', of: 'pump' });
  });

  it('counts the head that a falling tank leaves short first against its own structure alone', () => {
    const soon = { best: 900, low: 600, high: 1_400 };
    const short = calm({
      supplies: calm().supplies.map((supply) => ({ ...supply, firstShort: { head: 'c-2', inS: soon } })),
    });
    const [first, second] = orderOfNeed(layout, short);
    expect(first).toMatchObject({
      structure: { id: 'store' },
      group: 'fails-next',
      left: { what: 'pressure', of: 'c-2', estimate: soon },
    });
    expect(second!.left).toMatchObject({ what: 'water', estimate: long });
    expect(say(short, 'store')).toContain('c-2 under turning pressure in 15 min (10 to 23 min)');
  });

  it('puts a hazard to people at what its pump feeds above everything, until it is over', () => {
    const hazard: Alarm = {
      ...blankAlarm('dead-head:pump'),
      priority: 'people',
      verdict: { ...blankAlarm('dead-head:pump').verdict, cause: 'dead-head', subject: 'pump', subjectKind: 'pump' },
    };
    expect(orderOfNeed(layout, calm({ alarms: [hazard] })).every(({ group }) => group === 'hazard')).toBe(true);
    expect(
      orderOfNeed(layout, calm({ alarms: [{ ...hazard, clearedMs: NOW }] })).some(({ group }) => group === 'hazard'),
    ).toBe(false);
    const onLine: Alarm = { ...hazard, verdict: { ...hazard.verdict, subject: 'line-c', subjectKind: 'line' } };
    expect(
      orderOfNeed(layout, calm({ alarms: [onLine] }))
        .filter(({ group }) => group === 'hazard')
        .map(({ structure }) => structure.id),
    ).toEqual(['store']);
  });

  it('counts the fuel of a pump against what its water reaches, either way along a hose, and nothing else', () => {
    const two = new LayoutBuilder()
      .tank('tank')
      .pump('one', 'tank', 'p0')
      .pump('two', 'tank', 'q0')
      .hose('to-a', 'p0', 'a0', { line: 'line-a' })
      .hose('to-b', 'b0', 'q0', { line: 'line-b' })
      .head('a-1', 'a0', { line: 'line-a', structure: 'house' })
      .head('b-1', 'b0', { line: 'line-b', structure: 'barn' })
      .build();
    const all = picture(two, 'healthy', NOW);
    const pumps = all.pumps.map((one) => ({
      ...one,
      fuelLeftS: one.pump === 'one' ? long : { best: 900, low: 600, high: 1_400 },
    }));
    const order = orderOfNeed(two, { ...all, pumps, supplies: [] });
    expect(order.map(({ structure, left }) => [structure.id, left?.of, left?.estimate.best])).toEqual([
      ['barn', 'two', 900],
      ['house', 'one', 20_000],
    ]);
  });

  it('never makes unknown look calm: it comes first among what nobody has looked at, and no time is said', () => {
    const blind = calm({
      structures: calm().structures.map((one) =>
        one.structure === 'wood-pile' ? { ...one, state: 'unknown', why: 'its line end has gone silent' } : one,
      ),
      heads: seen('f-1', null),
    });
    expect(names(blind)[0]).toBe('wood-pile');
    expect(orderOfNeed(layout, blind)[0]!.left).toBeNull();
    expect(say(blind, 'wood-pile')).toBe(
      'unknown, its line end has gone silent; its head last confirmed turning 10 min ago.',
    );
  });

  it('explains a place in one sentence with its time left and who has looked', () => {
    const soon = calm({
      supplies: calm().supplies.map((supply) => ({ ...supply, emptyInS: { best: 1_020, low: 830, high: 1_260 } })),
      heads: seen('c-2', null),
    });
    expect(say(soon, 'store')).toBe(
      'running as modelled, pressure and flow match the baseline; tank empty in 17 min (13 to 21 min); ' +
        'nobody has said that 1 of its 4 heads turns.',
    );
    const unknown = calm({
      supplies: calm().supplies.map((supply) => ({ ...supply, emptyInS: null })),
      pumps: calm().pumps.map((pump) => ({ ...pump, fuelLeftS: null })),
    });
    expect(say(unknown, 'store')).toContain('how long it lasts is not known');
  });
});

describe('a head that was seen turning', () => {
  const trouble = (subject: string, subjectKind: Alarm['verdict']['subjectKind'], agoS: number): Alarm => ({
    ...blankAlarm('x'),
    verdict: { ...blankAlarm('x').verdict, subject, subjectKind, sinceMs: NOW - 1_000 * agoS },
  });
  const store = layout.heads.find(({ id }) => id === 'c-2')!;
  const said = (...alarms: Alarm[]): string =>
    seenAgoWords(NOW - 600_000, troubleOfHead(store, layout, calm({ alarms })), (atMs) => (NOW - atMs) / 1_000);

  it('was seen before the trouble of its line, its pump, the trunk or the whole site, and that is said', () => {
    expect(said(trouble(store.line, 'line', 60))).toBe('10 min ago, before this trouble');
    expect(said(trouble('pump', 'pump', 60))).toBe('10 min ago, before this trouble');
    expect(said(trouble('trunk', 'trunk', 60))).toBe('10 min ago, before this trouble');
    expect(said(trouble('larch-cove', 'site', 60))).toBe('10 min ago, before this trouble');
    expect(say(calm({ alarms: [trouble('trunk', 'trunk', 60)] }), 'store')).toContain('before this trouble');
  });

  it('was seen, and no more, where none stands, another line has it, it is over, or the look came after it', () => {
    expect(said()).toBe('10 min ago');
    expect(said(trouble('line-d', 'line', 60))).toBe('10 min ago');
    expect(said({ ...trouble(store.line, 'line', 60), clearedMs: NOW })).toBe('10 min ago');
    expect(said(trouble(store.line, 'line', 3_600))).toBe('10 min ago');
  });
});
