/** A gauge past the end of its range says 'at least', and a channel keeps the pace at which it speaks. */
import { describe, expect, it } from 'vitest';
import { Channel } from '../../gateway/core/telemetry/channel.ts';
import { BaselineSpell } from '../../gateway/core/diagnosis/baseline/baseline-spell.ts';
import { withGauges } from '../score/gauge-set.ts';
import { Drive, siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const sensor = layout.sensors.find(({ id }) => id === 'end-a-pressure')!;

function heard(channel: Channel, second: number, value: number): void {
  const atMs = 1_000 * second;
  const grade = value < channel.sensor.max ? 'good' : 'out-of-range';
  channel.take({ channel: sensor.id, value, atMs, receivedMs: atMs, deviceMs: atMs, grade });
}

describe('a gauge at the upper end of its range', () => {
  it('is at least that, and not to be used as a value; below its range it is nothing', () => {
    const channel = new Channel(sensor);
    heard(channel, 1, sensor.max);
    expect(channel.doubt).toBe('over-range');
    expect(channel.usable(1_500)).toBeNull();
    expect(channel.atLeast(1_500)).toBe(sensor.max);
    expect(channel.atLeast(60_000), 'too old').toBeNull();
    heard(channel, 61, 300_000);
    expect(channel.doubt).toBeNull();
    expect(channel.atLeast(61_500)).toBe(300_000);
    const low = new Channel(sensor);
    const reading = { channel: sensor.id, value: sensor.min - 1, atMs: 0, receivedMs: 0, deviceMs: 0 };
    low.take({ ...reading, grade: 'out-of-range' });
    expect(low.doubt).toBe('out-of-range');
    expect(low.atLeast(0)).toBeNull();
  });

  it('is no measurement any more far past it', () => {
    const channel = new Channel(sensor);
    heard(channel, 1, sensor.max + 0.4 * (sensor.max - sensor.min));
    expect(channel.doubt).toBe('over-range');
    heard(channel, 2, sensor.max + 0.6 * (sensor.max - sensor.min));
    expect(channel.doubt).toBe('out-of-range');
    expect(channel.atLeast(2_500)).toBeNull();
  });

  it('does not make its line unknown, nor short', () => {
    const narrow = {
      ...layout,
      sensors: layout.sensors.map((one) => (one.id === 'end-a-pressure' ? { ...one, max: 200_000 } : one)),
    };
    const drive = new Drive(narrow, { seed: 9_310 });
    drive.run(60);
    const line = drive.picture.lines.find(({ line: id }) => id === 'line-a')!;
    expect(drive.picture.channels.find(({ channel }) => channel === 'end-a-pressure')?.doubt).toBe('over-range');
    expect(line.state).toBe('as-modelled');
    expect(line.why).toContain('at least as much as that can read');
  });

  it('at the discharge shows a dead-head all the same', () => {
    const narrow = {
      ...layout,
      sensors: layout.sensors.map((one) => (one.id === 'discharge' ? { ...one, max: 1_200_000 } : one)),
    };
    const drive = new Drive(narrow, { seed: 9_311 });
    drive.run(60);
    drive.carry({ do: 'start', what: 'throttle', at: 'pump', size: 0.9 });
    drive.run(20);
    drive.carry({ do: 'start', what: 'throttle', at: 'pump', size: 0.95 });
    drive.carry({ do: 'start', what: 'dead-head', at: 'pump' });
    expect(drive.until(60, () => drive.standing.includes('dead-head pump'))).not.toBeNull();
  });
});

describe('the pace of a channel', () => {
  it('is what the layout states, or slower if it speaks more seldom; a gap of the road changes nothing', () => {
    const channel = new Channel(sensor);
    for (let second = 0; second < 20; second += 1) heard(channel, second, 300_000 + second);
    heard(channel, 80, 300_500);
    expect(channel.everyMs).toBe(1_000);
    for (let second = 90; second < 200; second += 10) heard(channel, second, 300_000 + second);
    expect(channel.everyMs).toBe(10_000);
    expect(channel.freshness(204_000)).toBe('fresh');
    for (let second = 201; second < 220; second += 1) heard(channel, second, 300_000 + second);
    expect(channel.everyMs).toBe(1_000);
  });
});

describe('the spell before a baseline', () => {
  it('is held by stillness and by seconds that were lost, and begins anew when something moves', () => {
    const spell = new BaselineSpell();
    spell.observe('still', 0);
    spell.observe('unheard', 20_000);
    expect(spell.heldMs(30_000)).toBe(30_000);
    for (const motion of ['throttled', 'rises', 'falls', null] as const) {
      spell.observe(motion, 30_000);
      expect(spell.heldMs(31_000)).toBe(0);
      spell.observe('still', 31_000);
    }
    expect(spell.heldMs(40_000)).toBe(9_000);
  });

  it('needs three readings of the slowest gauge that is heard', () => {
    const slow = withGauges(layout, 'all=30').sensors.filter(({ quantity }) => quantity === 'pressure');
    const channels = slow.map((one) => new Channel(one));
    const spell = new BaselineSpell();
    expect(spell.neededMs(channels, 0)).toBe(25_000);
    for (const second of [0, 30, 60]) heard(channels[0]!, second, 300_000 + second);
    expect(spell.neededMs(channels, 61_000)).toBe(90_000);
  });
});
