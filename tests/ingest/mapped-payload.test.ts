/**
 * Foreign payloads by mapping: every worked example of config/mappings as it stands, and bad values refused by name.
 */
import { readdirSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formatFault } from '../../config/layout/layout-fault.ts';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import type { Layout } from '../../config/layout/layout.ts';
import { Intake, type Taken } from '../../gateway/ingest/intake.ts';
import { demoSite } from '../support/demo-site.ts';

const [tank] = demoSite().layout.sources;
const TANK_DEPTH_M = tank?.shape.kind === 'framed-tank' ? tank.shape.depthM : Number.NaN;
const NOW = Date.UTC(2026, 6, 14, 20, 1, 5);

function mapped(mappings: string): Layout {
  const parsed = parseLayout(`${demoSite().text}\n${mappings}`, 'larch-cove.yaml');
  if (!parsed.ok) throw new Error(parsed.faults.map(formatFault).join('\n'));
  return parsed.layout;
}

const example = (name: string): Layout => mapped(readFileSync(`config/mappings/${name}.yaml`, 'utf8'));

function send(intake: Intake, topic: string, payload: unknown, retained = false): Taken {
  const text = typeof payload === 'string' ? payload : JSON.stringify(payload);
  return intake.take({ topic, payload: Buffer.from(text), retained, receivedMs: NOW }, 1);
}

const shown = ({ readings }: Taken): unknown[] =>
  readings.map(({ channel, value, atMs, grade }) => [channel, Math.round(value * 1e6) / 1e6, atMs - NOW, grade]);

describe('the worked examples', () => {
  it('are all here', () => {
    expect(readdirSync('config/mappings').sort()).toEqual([
      'flat-json.yaml',
      'lorawan-uplink.yaml',
      'one-value-a-topic.yaml',
      'sparkplug-node.yaml',
      'time-series.yaml',
    ]);
  });

  it('flat JSON: device by topic, seconds since 1970, a battery', () => {
    const intake = new Intake(example('flat-json'));
    expect(
      shown(send(intake, 'orchard/end-a/measured', { p_bar: 4.12, temp: 31, bat_mv: 3710, at: NOW / 1000 - 3 })),
    ).toEqual([['end-a-pressure', 412_000, -3_000, 'good']]);
    expect(intake.devicesAt(NOW).find(({ device }) => device === 'end-a')).toMatchObject({
      packets: 1,
      lastMs: NOW,
      battery: { volts: 3.71 },
    });
    expect(send(intake, 'orchard/stranger/measured', { p_bar: 4, at: NOW / 1000 }).verdict).toBe('unknown-device');
    expect(intake.unknownDevices).toMatchObject([{ device: 'stranger', topic: 'orchard/stranger/measured' }]);
    expect(send(intake, 'orchard/end-a/other', {}).verdict).toBe('ingest/bad-topic');
  });

  it('one value a topic: plain text, a percentage of the full tank', () => {
    const intake = new Intake(example('one-value-a-topic'));
    expect(shown(send(intake, 'shed/pump-box/discharge', ' 812.5\n'))).toEqual([['discharge', 812_500, 0, 'good']]);
    expect(shown(send(intake, 'shed/pump-box/tank-percent', '71'))).toEqual([
      ['level', Math.round(0.71 * TANK_DEPTH_M * 1e6) / 1e6, 0, 'good'],
    ]);
    expect(send(intake, 'shed/pump-box/tank-percent', '171').verdict).toBe('ingest/not-a-ratio');
    expect(send(intake, 'shed/pump-box/discharge', '812.5', true).verdict).toBe('ingest/undated');
    for (const [text, reason] of [
      ['3.2 bar', 'ingest/unit-in-text'],
      ['3,2', 'ingest/decimal-comma'],
      ['1.234,5', 'ingest/decimal-comma'],
      ['NaN', 'ingest/not-a-number'],
      ['', 'ingest/not-a-number'],
      ['1e999', 'ingest/not-a-number'],
      ['offline', 'ingest/not-a-number'],
    ] as const) {
      expect([text, send(intake, 'shed/pump-box/discharge', text).verdict]).toEqual([text, reason]);
    }
  });

  it('LoRaWAN uplink: device in the document, ISO time, a current loop, absent means zero', () => {
    const intake = new Intake(example('lorawan-uplink'));
    const up = (decoded: unknown, rest: object = {}): Taken =>
      send(intake, 'lora/valley/node/END-B/up', {
        node: 'END-B',
        heard: '2026-07-14T20:01:02.350Z',
        decoded,
        battery: 84,
        ...rest,
      });
    expect(shown(up({ loop_ma: 9.6, counter: 118 }))).toEqual([['end-b-pressure', 350_000, -2_650, 'good']]);
    expect(intake.devicesAt(NOW).find(({ device }) => device === 'end-b')?.battery).toEqual({ share: 0.84 });
    expect(up({ loop_ma: 3.6 })).toMatchObject({ verdict: 'ingest/loop-broken', readings: [] });
    expect(up({ loop_ma: 21 })).toMatchObject({ verdict: 'ingest/loop-shorted', readings: [] });
    // A flow of end-b is nobody's sensor here: that it was filled in as zero shows in the tray.
    expect(intake.unknownDevices.map(({ device, record, unit }) => [device, record, unit])).toEqual([
      ['end-b', 'flow', 'm3/s'],
    ]);
    expect(up(undefined).readings).toEqual([]);
    expect(up({ loop_ma: 8 }, { node: 7 }).verdict).toBe('ingest/no-device');
    expect(up({ loop_ma: 8 }, { heard: '2026-07-14 20:01' }).verdict).toBe('ingest/bad-foreign-time');
    expect(up({ loop_ma: 8 }, { heard: '2026-07-14T20:01:02' }).verdict).toBe('ingest/bad-foreign-time');
    expect(up({ loop_ma: 8 }, { heard: undefined }).verdict).toBe('ingest/no-time');
  });

  it('time series: rows of values, each with its own time; null is no value', () => {
    const intake = new Intake(example('time-series'));
    const taken = send(intake, 'logger/ridge/batch', {
      unit: 'ridge',
      rows: [
        [NOW - 2_000, 41_260, '31'],
        [NOW - 1_000, 41_180, null],
        [NOW, null, null],
      ],
    });
    expect(shown(taken)).toEqual([
      ['discharge', 312_600, -2_000, 'good'],
      ['air', 31, -2_000, 'good'],
      ['discharge', 311_800, -1_000, 'good'],
    ]);
    expect(taken.verdict).toBe('readings');
    expect(send(intake, 'logger/ridge/batch', { rows: 'none' }).verdict).toBe('ingest/no-rows');
    expect(send(intake, 'logger/ridge', { row: [] }).verdict).toBe('ingest/no-rows');
    expect(send(intake, 'logger/ridge/batch', { rows: Array.from({ length: 2_001 }, () => [NOW, 1]) }).verdict).toBe(
      'ingest/too-many-records',
    );
    expect(send(intake, 'logger/ridge/batch', { rows: [] }).verdict).toBe('ingest/nothing-mapped');
  });
});

describe('a 4-20 mA loop (NAMUR NE 43)', () => {
  it('measures from 3.8 to 20.5 mA, is at its end beyond that, and has failed at 3.6 and 21', () => {
    const layout = mapped(
      'mappings:\n  m: { topic: loop/a, payload: text, device: end-a, records: { pressure: { unit: ' +
        'kPa, scale: 0.001, at-4-ma: 100, at-20-ma: 900 } } }\n',
    );
    const told = ['3600', '3610', '3790', '3800', '4000', '12000', '20500', '20510', '20990', '21000', '0', '-1'].map(
      (microamperes) => {
        const { verdict, readings } = send(new Intake(layout), 'loop/a', microamperes);
        return readings[0] ? `${Math.round(readings[0].value / 100) / 10} ${readings[0].grade}` : verdict;
      },
    );
    expect(told).toEqual([
      'ingest/loop-broken',
      '80.5 out-of-range',
      '89.5 out-of-range',
      '90 good',
      '100 good',
      '500 good',
      '925 good',
      '925.5 out-of-range',
      '949.5 out-of-range',
      'ingest/loop-shorted',
      'ingest/loop-broken',
      'ingest/loop-broken',
    ]);
  });
});

describe('what is absent or bad', () => {
  const ZERO = `mappings:
  omits-zeros:
    topic: zeros/box
    payload: json
    device: pump-box
    records:
      flow: { at: /m/q, unit: L/min, absent: zero }
      discharge: { at: /m/p, unit: kPa }
  other-message:
    topic: zeros/box
    payload: json
    device: pump-box
    records: { air: { at: /weather/t, unit: F } }
`;

  it('is zero only where that is said and its holder is there; else unknown, and null always', () => {
    const intake = new Intake(mapped(ZERO));
    const one = (payload: unknown): unknown =>
      [send(intake, 'zeros/box', payload)].map(({ verdict, readings }) => [
        verdict,
        ...readings.map(({ channel, value }) => `${channel} ${value}`),
      ])[0];
    expect(one({ m: { p: 400 } })).toEqual(['readings', 'flow 0', 'discharge 400000']);
    expect(one({ m: {} })).toEqual(['readings', 'flow 0']);
    expect(one({ m: { q: null, p: null } })).toEqual(['ingest/nothing-mapped']);
    expect(one({ joined: true })).toEqual(['ingest/nothing-mapped']);
    expect(one({ m: [] })).toEqual(['ingest/nothing-mapped']);
    expect(one({ weather: { t: 50 } })).toEqual(['readings', 'air 10']);
  });

  it.each([
    ['"3.2 bar"', 'ingest/unit-in-text'],
    ['"3.2bar"', 'ingest/unit-in-text'],
    ['"3,2"', 'ingest/decimal-comma'],
    ['"412.6"', 'ingest/number-as-text'],
    ['"NaN"', 'ingest/not-a-number'],
    ['"-inf"', 'ingest/not-a-number'],
    ['1e999', 'ingest/not-a-number'],
    ['true', 'ingest/not-numeric'],
    ['[1]', 'ingest/not-numeric'],
    ['{"v":1}', 'ingest/not-numeric'],
    ['NaN', 'ingest/not-json'],
    ['3,2', 'ingest/not-json'],
  ])('%s is %s', (value, reason) => {
    const taken = send(new Intake(mapped(ZERO)), 'zeros/box', `{"m":{"q":1,"p":${value}}}`);
    expect([taken.verdict, taken.readings.map(({ channel }) => channel)]).toEqual([
      reason,
      reason === 'ingest/not-json' ? [] : ['flow'],
    ]);
  });

  it('out of range is graded and kept, and a wrong quantity refused', () => {
    expect(shown(send(new Intake(mapped(ZERO)), 'zeros/box', { m: { q: 1e6, p: 99_999 } }))).toMatchObject([
      ['flow', expect.any(Number), 0, 'out-of-range'],
      ['discharge', 99_999_000, 0, 'out-of-range'],
    ]);
    const anyDevice = mapped(
      'mappings:\n  m: { topic: any/+, payload: json, device: { level: 2 }, records: { pressure: { at: ' +
        '/t, unit: C } } }\n',
    );
    expect(send(new Intake(anyDevice), 'any/end-a', { t: 20 }).verdict).toBe('ingest/wrong-unit');
  });

  it('never throws and never files what is not finite, whatever the payload', () => {
    const layouts = [mapped(ZERO), example('lorawan-uplink'), example('time-series'), example('one-value-a-topic')];
    const topics = ['zeros/box', 'lora/valley/node/x/up', 'logger/ridge', 'shed/pump-box/discharge'];
    const payload = fc.oneof(
      fc.json(),
      fc.string(),
      fc.constantFrom('{"m":{"__proto__":1}}', '{"rows":[[1,2,3],[{}],null]}', '['.repeat(9_000)),
      fc.record({ m: fc.record({ q: fc.jsonValue(), p: fc.jsonValue() }) }).map((one) => JSON.stringify(one)),
    );
    fc.assert(
      fc.property(fc.nat(3), payload, (index, text) => {
        const taken = send(new Intake(layouts[index]!), topics[index]!, text);
        expect(taken.verdict).not.toBe('');
        for (const { value, atMs } of taken.readings)
          expect(Number.isFinite(value) && Number.isInteger(atMs)).toBe(true);
      }),
      { numRuns: 1_000 },
    );
  });
});
