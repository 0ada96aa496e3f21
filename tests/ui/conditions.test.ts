/** What a part of the plan is said to be: a tank by its own alarm, a sensor by its own channel and band. */
import { describe, expect, it } from 'vitest';
import type { Alarm, ChannelPicture, Picture } from '../../config/wire/wire.ts';
import { conditionOf } from '../../ui/state/conditions.ts';
import { blankAlarm } from '../support/blank-picture.ts';
import { siteLayout } from '../support/drive.ts';
import { picture } from './fixture.ts';

const layout = siteLayout('larch-cove');
const healthy = picture(layout, 'healthy', 1_800_000_000_000);
const [tank] = layout.sources;

describe('a tank', () => {
  const alarm = (cause: Alarm['verdict']['cause'], subject: string, clearedMs: number | null = null): Alarm => {
    const { verdict } = blankAlarm('x');
    return blankAlarm('x', { verdict: { ...verdict, cause, subject }, clearedMs });
  };
  const said = (changes: Partial<Picture>): string =>
    conditionOf({ kind: 'source', item: tank! }, { ...healthy, ...changes }, layout).word;

  it('is low by the standing alarm about its own water, and by no other', () => {
    expect(said({ alarms: [] })).toBe('level known');
    expect(said({ alarms: [alarm('tank-low', tank!.id)] })).toBe('low');
    expect(said({ alarms: [alarm('tank-low', 'another-tank')] })).toBe('level known');
    expect(said({ alarms: [alarm('tank-overfull', tank!.id)] })).toBe('level known');
    expect(said({ alarms: [alarm('tank-low', tank!.id, 1)] })).toBe('level known');
  });

  it('is unknown where nobody tells its level', () => {
    expect(said({ supplies: [] })).toBe('unknown');
    expect(said({ supplies: healthy.supplies.map((one) => ({ ...one, volumeM3: null })) })).toBe('unknown');
  });
});

describe('a gate', () => {
  const [gate] = layout.gates;
  const said = (opening: number, changes: Partial<Picture> = {}): string =>
    conditionOf({ kind: 'gate', item: gate! }, { ...healthy, gates: [{ gate: gate!.id, opening }], ...changes }, layout)
      .word;

  it('is open, part open or shut as logged: nothing measures it, least of all at a deadheaded pump', () => {
    expect([1, 0.5, 0].map((opening) => said(opening))).toEqual([
      'open, as logged',
      'part open, as logged',
      'shut, as logged',
    ]);
    const pumps = healthy.pumps.map((pump) => ({ ...pump, state: 'dead-head' as const }));
    expect(said(1, { pumps })).toBe('open, as logged');
  });

  it('looks shut where an alarm points at it, whatever is logged', () => {
    const { verdict } = blankAlarm('x');
    const places = [{ id: gate!.id, probability: 0.9 }];
    expect(said(1, { alarms: [blankAlarm('x', { verdict: { ...verdict, cause: 'gate-shut', places } })] })).toBe(
      'looks shut',
    );
  });
});

describe('a sensor', () => {
  const [sensor] = layout.sensors.filter(({ id }) => id === 'end-c-pressure');
  const channelWas = healthy.channels.find(({ channel }) => channel === 'end-c-pressure')!;
  const said = (changes: Partial<ChannelPicture>, outside?: Picture['outside'], alarms: Alarm[] = []): string => {
    const channels = healthy.channels.map((one) => (one === channelWas ? { ...one, ...changes } : one));
    const { word, tone } = conditionOf(
      { kind: 'sensor', item: sensor! },
      { ...healthy, channels, alarms, ...(outside ? { outside } : {}) },
      layout,
    );
    return `${word}, ${tone}`;
  };
  const far = { value: channelWas.high! + 1e5 };

  it('is what its own channel says, whatever the others say', () => {
    expect(said({})).toBe('inside its band, calm');
    expect(said({ freshness: 'stale' })).toBe('stale, unsure');
    expect(said({ doubt: 'stuck' })).toBe('in doubt, unsure');
    expect(said({ doubt: 'over-range' })).toBe('past its range, unsure');
    expect(said({ low: null, high: null })).toBe('fresh, nothing to compare with, calm');
  });

  it('is inside but for one reading where the last seconds are; outside has no colour without an alarm', () => {
    expect(said(far, [])).toBe('inside its band but for the last reading, calm');
    const outside = [{ channel: 'end-c-pressure', side: 'above' as const }];
    expect(said(far, outside)).toBe('above its band, calm');
    const { verdict } = blankAlarm('x');
    const evidence = [{ channel: 'end-c-pressure', measured: 5e5, expected: 4e5, tolerance: 1e4 }];
    expect(said(far, outside, [blankAlarm('x', { verdict: { ...verdict, evidence } })])).toBe('above its band, medium');
    expect(said(far, outside, [blankAlarm('x', { clearedMs: 1, verdict: { ...verdict, evidence } })])).toBe(
      'above its band, calm',
    );
  });
});
