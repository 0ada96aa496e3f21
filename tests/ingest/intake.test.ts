/** From packet to reading: units, devices, times, retained packets, and the counting of what was refused. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Intake, type Taken } from '../../gateway/ingest/intake.ts';
import { REFUSALS } from '../../gateway/ingest/refusal.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout } = demoSite();
const [tank] = layout.sources;
const TANK_DEPTH_M = tank?.shape.kind === 'framed-tank' ? tank.shape.depthM : Number.NaN;
const NOW = 1_790_000_000_000;
const TOPIC = 'wetdown/larch-cove/pump-box/senml';

function send(
  intake: Intake,
  payload: unknown,
  options: { topic?: string; retained?: boolean; receivedMs?: number } = {},
): Taken {
  const bytes = Buffer.from(typeof payload === 'string' ? payload : JSON.stringify(payload));
  return intake.take(
    {
      topic: options.topic ?? TOPIC,
      payload: bytes,
      retained: options.retained ?? false,
      receivedMs: options.receivedMs ?? NOW,
    },
    1,
  );
}

function valueOf(record: string, unit: string | undefined, value: number): number | string {
  const taken = send(new Intake(layout), [{ n: record, u: unit, v: value }]);
  return taken.readings[0]?.value ?? taken.verdict;
}

describe('units', () => {
  // Factors: SI prefixes; 1 bar = 1e5 Pa; 0 Cel = 273.15 K (NIST SP 811, 2008).
  it.each([
    ['discharge', 'Pa', 812_500, 812_500],
    ['discharge', 'hPa', 8_125, 812_500],
    ['discharge', 'kPa', 812.5, 812_500],
    ['discharge', 'bar', 8.125, 812_500],
    ['flow', 'm3/s', 0.005, 0.005],
    ['flow', 'l/s', 5, 0.005],
    ['flow', 'l/min', 300, 0.005],
    ['flow', 'm3/h', 18, 0.005],
    ['speed', 'Hz', 70, 70],
    ['speed', '1/s', 70, 70],
    ['speed', '1/min', 4200, 70],
    ['level', 'm', 0.5, 0.5],
    ['level', 'cm', 50, 0.5],
    ['level', 'mm', 500, 0.5],
    ['level', '/', 0.5, 0.5 * TANK_DEPTH_M],
    ['fuel', 'm3', 0.012, 0.012],
    ['fuel', 'l', 12, 0.012],
    ['fuel', '%', 0.6, 0.012],
    ['fuel', '/100', 60, 0.012],
    ['air', 'Cel', 21, 21],
    ['air', 'K', 294.15, 21],
  ])('%s in %s', (record, unit, value, si) => {
    expect(valueOf(record, unit, value)).toBeCloseTo(si, 9);
  });

  it('never guesses: no unit, a wrong one, an unknown one, a percentage under the name of a ratio', () => {
    expect(valueOf('discharge', undefined, 812)).toBe('ingest/no-unit');
    expect(valueOf('discharge', 'l/s', 812)).toBe('ingest/wrong-unit');
    expect(valueOf('discharge', 'psi', 812)).toBe('ingest/unknown-unit');
    expect(valueOf('discharge', '%', 0.5)).toBe('ingest/wrong-unit');
    expect(valueOf('fuel', '%', 60)).toBe('ingest/not-a-ratio');
  });
});

describe('who sent it', () => {
  it('finds the sensor by device and the last part of the name', () => {
    const taken = send(new Intake(layout), [
      { bn: 'urn:dev:mac:0024befffe804ff1:', n: 'discharge', u: 'kPa', v: 800 },
      { bn: 'pump/one/', n: 'flow', u: 'l/s', v: 5 },
    ]);
    expect(taken.readings.map((reading) => reading.channel)).toEqual(['discharge', 'flow']);
  });

  it('keeps unknown devices and unknown records in the tray, with their last packet', () => {
    const intake = new Intake(layout);
    expect(send(intake, [{ n: 'x', u: 'Pa', v: 1 }], { topic: 'wetdown/larch-cove/stranger/senml' }).verdict).toBe(
      'unknown-device',
    );
    send(intake, [{ n: 'humidity', u: '%RH', v: 37 }]);
    expect(intake.unknownDevices.map(({ device, record, unit }) => [device, record, unit])).toEqual([
      ['stranger', 'x', 'Pa'],
      ['pump-box', 'humidity', '%RH'],
    ]);
    expect(intake.unknownDevices[1]?.packet).toContain('"humidity"');
    expect(intake.rejected).toEqual([]);
  });

  it('takes a battery for a fact about the device, in the units that can be told apart', () => {
    const intake = new Intake(layout);
    const battery = (): unknown => intake.devicesAt(NOW).find(({ device }) => device === 'pump-box')?.battery;
    expect(battery()).toBeNull();
    for (const [u, v, told] of [
      ['V', 3.7, { volts: 3.7 }],
      ['%EL', 84, { share: 0.84 }],
      ['/', 0.5, { share: 0.5 }],
    ] as const) {
      expect(send(intake, [{ n: 'battery', u, v }]).verdict).toBe('readings');
      expect(battery()).toEqual(told);
    }
    for (const [u, v, reason] of [
      ['%', 84, 'ingest/not-a-ratio'],
      ['mAh', 900, 'ingest/unknown-unit'],
      [undefined, 3, 'ingest/no-unit'],
    ] as const)
      expect(send(intake, [{ n: 'battery', u, v }]).verdict).toBe(reason);
    expect([battery(), intake.unknownDevices]).toEqual([{ share: 0.5 }, []]);
  });

  it('bounds the tray and what it shows', () => {
    const intake = new Intake(layout);
    for (let device = 0; device < 500; device += 1)
      send(intake, [{ n: 'x', vs: 'y'.repeat(2_000) }], { topic: `wetdown/larch-cove/d${device}\u0007/senml` });
    expect(intake.unknownDevices.length).toBeLessThanOrEqual(40);
    expect(intake.unknownDevices.at(-1)?.device).toBe('d499\u00B7');
    send(
      intake,
      Array.from({ length: 2_000 }, (_, index) => ({ n: `n${index}`, v: 1 })),
      { topic: 'wetdown/larch-cove/many/senml' },
    );
    expect(intake.unknownDevices.filter(({ device }) => device === 'many')).toHaveLength(10);
    expect(intake.unknownDevices).toHaveLength(40);
    for (let name = 0; name < 100; name += 1)
      send(intake, [{ n: `other${name}`, v: 1 }], { topic: 'wetdown/larch-cove/many/senml' });
    expect(intake.unknownDevices.filter(({ device }) => device === 'many').map(({ record }) => record)).toContain(
      'other99',
    );
    expect(intake.unknownDevices.filter(({ device }) => device === 'many')).toHaveLength(10);
    expect(intake.unknownDevices).toHaveLength(40);
    expect(Math.max(...intake.unknownDevices.map(({ packet }) => packet.length))).toBeLessThanOrEqual(401);
  });

  it('takes status, and counts a bad one', () => {
    const intake = new Intake(layout);
    const status = (word: string): Taken =>
      send(intake, word, { topic: 'wetdown/larch-cove/end-a/status', retained: true });
    expect(status('online').verdict).toBe('status');
    expect(intake.devicesAt(NOW).find(({ device }) => device === 'end-a')).toMatchObject({
      online: true,
      lastMs: null,
    });
    for (const word of ['offline', '"offline"', '{"online":false,"simulated":true}']) {
      status('{"online":true}');
      expect(status(word).verdict).toBe('status');
      expect(intake.devicesAt(NOW).find(({ device }) => device === 'end-a')?.online).toBe(false);
    }
    expect(intake.devicesAt(NOW).find(({ device }) => device === 'end-a')?.online).toBe(false);
    for (const word of ['perhaps', '', '{"online":1}', '{', 'null'])
      expect(status(word).verdict).toBe('ingest/bad-status');
  });
});

describe('times', () => {
  const at = (timeS: number | undefined, options: { retained?: boolean } = {}): Taken =>
    send(new Intake(layout), [{ n: 'discharge', u: 'kPa', v: 1, t: timeS }], options);
  const nowS = NOW / 1000;

  it('uses the device clock where it can be believed', () => {
    expect(at(nowS - 3600).readings[0]).toMatchObject({
      atMs: NOW - 3_600_000,
      deviceMs: NOW - 3_600_000,
      receivedMs: NOW,
    });
    expect(at(nowS + 4).readings[0]).toMatchObject({ atMs: NOW + 4_000 });
    expect(at(-20).readings[0]).toMatchObject({ atMs: NOW - 20_000, deviceMs: null });
    expect(at(undefined).readings[0]).toMatchObject({ atMs: NOW, deviceMs: null });
  });

  it('uses the time of receipt where the clock runs wild, and keeps what it said', () => {
    expect(at(nowS + 6).readings[0]).toMatchObject({ atMs: NOW, deviceMs: NOW + 6_000 });
    expect(at(nowS - 49 * 3600).readings[0]).toMatchObject({ atMs: NOW, deviceMs: NOW - 49 * 3_600_000 });
    expect(at(2 ** 28).readings[0]).toMatchObject({ atMs: NOW });
  });

  it('never makes a retained reading fresh', () => {
    expect(at(nowS - 900, { retained: true }).readings[0]).toMatchObject({ atMs: NOW - 900_000 });
    expect(at(undefined, { retained: true })).toMatchObject({ verdict: 'ingest/undated', readings: [] });
    expect(at(-5, { retained: true })).toMatchObject({ verdict: 'ingest/undated', readings: [] });
    expect(at(nowS + 60, { retained: true })).toMatchObject({ verdict: 'ingest/undated', readings: [] });
  });

  it('files a late reading at its own time, but not for the live watch', () => {
    const intake = new Intake(layout);
    const seconds = [10, 11, 11, 5, 12];
    const live = seconds.map(
      (second) => send(intake, [{ n: 'discharge', u: 'kPa', v: second, t: nowS - 60 + second }]).readings[0],
    );
    expect(live.map((reading) => reading?.live)).toEqual([true, true, false, false, true]);
    expect(live.map((reading) => reading?.atMs)).toEqual(seconds.map((second) => NOW - 60_000 + second * 1_000));
  });

  it('grades by the range of the sensor and drops nothing', () => {
    expect(valueOf('discharge', 'kPa', 9_999)).toBe(9_999_000);
    expect(send(new Intake(layout), [{ n: 'discharge', u: 'kPa', v: 9_999 }]).readings[0]?.grade).toBe('out-of-range');
    expect(send(new Intake(layout), [{ n: 'discharge', u: 'kPa', v: 999 }]).readings[0]?.grade).toBe('good');
  });
});

describe('whatever comes in', () => {
  const LABELS = [
    'bn',
    'bt',
    'bu',
    'bv',
    'bs',
    'bver',
    'n',
    'u',
    'v',
    'vs',
    'vb',
    'vd',
    's',
    't',
    'ut',
    '__proto__',
    'x_',
    'constructor',
  ];
  const member = fc.tuple(
    fc.constantFrom(...LABELS),
    fc.oneof(fc.jsonValue({ maxDepth: 2 }), fc.double(), fc.constantFrom('discharge', 'flow', 'kPa', 'l/s', '%')),
  );
  const record = fc
    .array(member, { maxLength: 7 })
    .map(
      (members) => `{${members.map(([name, value]) => `${JSON.stringify(name)}:${JSON.stringify(value)}`).join(',')}}`,
    );
  const payload = fc.oneof(
    fc.uint8Array({ maxLength: 300 }).map((bytes) => Buffer.from(bytes)),
    fc.array(record, { maxLength: 5 }).map((records) => Buffer.from(`[${records.join(',')}]`)),
    fc.json().map((text) => Buffer.from(text)),
  );
  const topic = fc.oneof(
    fc.constantFrom(
      TOPIC,
      'wetdown/larch-cove/pump-box/status',
      'wetdown/larch-cove/simulation',
      'wetdown/larch-cove/__proto__/senml',
    ),
    fc.string(),
  );

  it('is taken or counted, never thrown at anybody', () => {
    const counted = (intake: Intake): number => intake.rejected.reduce((sum, { count }) => sum + count, 0);
    fc.assert(
      fc.property(fc.array(fc.tuple(topic, payload, fc.boolean()), { maxLength: 4 }), (packets) => {
        const intake = new Intake(layout);
        for (const [name, bytes, retained] of packets) {
          const before = counted(intake);
          const packet = { topic: name, payload: bytes, retained, receivedMs: NOW };
          intake.beatOf(packet);
          const taken = intake.take(packet, 1);
          expect(counted(intake) > before).toBe(taken.verdict.startsWith('ingest/'));
          expect(taken.verdict).not.toBe('');
          for (const reading of taken.readings) {
            expect(Number.isFinite(reading.value) && Number.isInteger(reading.atMs)).toBe(true);
            expect(reading.atMs).toBeLessThanOrEqual(NOW + 5_000);
          }
        }
        expect(intake.rejected.every(({ reason }) => Object.hasOwn(REFUSALS, reason))).toBe(true);
      }),
      { numRuns: 1_500 },
    );
    expect(Object.prototype).not.toHaveProperty('v');
  });
});
