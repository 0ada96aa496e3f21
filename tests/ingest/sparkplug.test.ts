/**
 * Sparkplug B as its specification (Eclipse Sparkplug 3.0.0) has it, seen by a gateway that only listens; on the worked
 * example of config/mappings.
 */
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { beforeEach, describe, expect, it } from 'vitest';
import { formatFault } from '../../config/layout/layout-fault.ts';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { Intake, type Taken } from '../../gateway/ingest/intake.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { demoSite } from '../support/demo-site.ts';
import { sparkplugPayload, type TestMetric } from './sparkplug-packet.ts';

const NOW = Date.UTC(2026, 6, 14, 20, 0, 0);
const INT16 = 2;
const INT32 = 3;
const UINT32 = 7;
const FLOAT = 9;
const parsed = parseLayout(
  `${demoSite().text}\n${readFileSync('config/mappings/sparkplug-node.yaml', 'utf8')}`,
  'larch-cove.yaml',
);
if (!parsed.ok) throw new Error(parsed.faults.map(formatFault).join('\n'));
const { layout } = parsed;

let intake = new Intake(layout);
beforeEach(() => {
  intake = new Intake(layout);
});

function send(
  type: string,
  seq: number | null,
  metrics: readonly TestMetric[],
  options: { retained?: boolean; timeMs?: number } = {},
): Taken {
  const topic = `spBv1.0/hillside/${type}/pump-node${type.startsWith('D') ? '/skid' : ''}`;
  return intake.take(
    {
      topic,
      payload: sparkplugPayload(seq, metrics, options.timeMs ?? NOW),
      retained: options.retained ?? false,
      receivedMs: NOW + 200,
    },
    1,
  );
}

const shown = ({ readings }: Taken): string[] =>
  readings.map(({ channel, value, live }) => `${channel} ${Math.round(value * 1e4) / 1e4}${live ? '' : ' not live'}`);
const online = (): boolean | null | undefined =>
  intake.devicesAt(NOW).find(({ device }) => device === 'pump-box')?.online;

const NODE: readonly TestMetric[] = [
  { name: 'bdSeq', datatype: 4, long: 7n },
  { name: 'Engine/Speed', alias: 1, datatype: UINT32, long: 4_200n },
  { name: 'Supply/Battery', alias: 2, datatype: FLOAT, float: 12.5 },
  { name: 'Node Control/Rebirth', datatype: 11, flag: false },
];
const SKID: readonly TestMetric[] = [
  { name: 'Pump/Discharge pressure', alias: 3, datatype: FLOAT, float: 812.5 },
  { name: 'Pump/Suction pressure', alias: 4, datatype: INT16, int: 0xffffffa6 },
  { name: 'Tank/Level', alias: 5, datatype: 10, double: 12 },
];

function bear(): void {
  send('NBIRTH', 0, NODE);
  send('DBIRTH', 1, SKID);
}

describe('births and data', () => {
  it('a birth is a first set of readings, by name, and the device is online', () => {
    expect(shown(send('NBIRTH', 0, NODE))).toEqual(['speed 70']);
    expect(shown(send('DBIRTH', 1, SKID))).toEqual(['discharge 812500', 'suction -9000', 'level 0.375']);
    expect(online()).toBe(true);
    expect(intake.devicesAt(NOW).find(({ device }) => device === 'pump-box')?.battery).toEqual({ volts: 12.5 });
    expect(intake.rejected).toEqual([]);
  });

  it('later packets say the alias alone, and the birth knows what it means and of which type', () => {
    bear();
    expect(
      shown(
        send(
          'DDATA',
          2,
          [
            { alias: 3, float: 800 },
            { alias: 4, int: 0xff9c },
            { alias: 5, double: 8 },
          ],
          { timeMs: NOW + 100 },
        ),
      ),
    ).toEqual(['discharge 800000', 'suction -10000', 'level 0.1875']);
    expect(shown(send('NDATA', 3, [{ alias: 1, int: 3_600 }], { timeMs: NOW + 100 }))).toEqual(['speed 60']);
  });

  it('the time of a metric goes before that of its packet; without both it is the time of receipt', () => {
    bear();
    const [one, two] = send(
      'DDATA',
      2,
      [
        { alias: 3, float: 800, timeMs: NOW + 50 },
        { alias: 4, int: 5 },
      ],
      { timeMs: NOW + 150 },
    ).readings;
    expect([one?.atMs, two?.atMs]).toEqual([NOW + 50, NOW + 150]);
    const bare = intake.take(
      {
        topic: 'spBv1.0/hillside/DDATA/pump-node/skid',
        payload: sparkplugPayload(3, [{ alias: 3, float: 1 }]),
        retained: false,
        receivedMs: NOW + 900,
      },
      1,
    );
    expect(bare.readings[0]).toMatchObject({ atMs: NOW + 900, deviceMs: null });
  });

  it('whole numbers take their sign from the data type, however wide they were written', () => {
    bear();
    const suctions = [0xffa6, 0xffffffa6, 90, 0].map(
      (int, index) => send('DDATA', 2 + index, [{ alias: 4, int }], { timeMs: NOW + 1 + index }).readings[0]?.value,
    );
    expect(suctions).toEqual([-9_000, -9_000, 9_000, 0]);
    expect(
      send('DDATA', 6, [{ name: 'Pump/Suction pressure', datatype: INT32, long: 0xffffffffffffffa6n }], {
        timeMs: NOW + 9,
      }).readings[0]?.value,
    ).toBe(-9_000);
  });

  it('null is no value: what was known ends at once', () => {
    bear();
    expect(
      send(
        'DDATA',
        2,
        [
          { alias: 3, isNull: true },
          { alias: 5, double: 9 },
        ],
        { timeMs: NOW + 100 },
      ),
    ).toMatchObject({ silenced: ['discharge'], readings: [{ channel: 'level' }] });
  });

  it('historical values are filed at their time, and are never live', () => {
    bear();
    expect(
      shown(
        send(
          'DDATA',
          2,
          [
            { alias: 3, float: 700, timeMs: NOW - 60_000, historical: true },
            { alias: 3, float: 701, timeMs: NOW + 90, historical: true },
            { alias: 3, float: 800 },
          ],
          { timeMs: NOW + 100 },
        ),
      ),
    ).toEqual(['discharge 700000 not live', 'discharge 701000 not live', 'discharge 800000']);
  });

  it('a quality that is not good is refused by name, and what was known ends', () => {
    bear();
    expect(send('DDATA', 2, [{ alias: 3, float: 800, quality: 0 }])).toMatchObject({
      verdict: 'ingest/bad-quality',
      silenced: ['discharge'],
      readings: [],
    });
    expect(shown(send('DDATA', 3, [{ alias: 3, float: 800, quality: 192 }], { timeMs: NOW + 100 }))).toEqual([
      'discharge 800000',
    ]);
  });

  it.each<[string, TestMetric, string]>([
    ['a text', { alias: 3, text: '3,2' }, 'ingest/decimal-comma'],
    ['a flag', { alias: 3, flag: true }, 'ingest/not-numeric'],
    ['NaN', { alias: 3, float: Number.NaN }, 'ingest/not-a-number'],
    ['no value', { alias: 3 }, 'ingest/no-value'],
    ['neither name nor alias', { float: 1 }, 'ingest/bad-metric'],
    ['an alias of no birth', { alias: 99, float: 1 }, 'ingest/no-birth'],
    ['a broken loop', { alias: 5, double: 3.5 }, 'ingest/loop-broken'],
  ])('refuses %s by name', (_words, metric, reason) => {
    bear();
    expect(send('DDATA', 2, [metric])).toMatchObject({ verdict: reason, readings: [] });
  });
});

describe('the count of packets', () => {
  it('goes round at 256 over node and devices', () => {
    bear();
    for (let seq = 2; seq < 600; seq += 1) send(seq % 3 === 0 ? 'NDATA' : 'DDATA', seq % 256, []);
    expect(intake.rejected).toEqual([]);
  });

  it('a gap puts aliases in doubt until the next birth, says so, and leaves names good', () => {
    bear();
    const after = send(
      'DDATA',
      5,
      [
        { alias: 3, float: 800 },
        { name: 'Tank/Level', double: 8 },
      ],
      { timeMs: NOW + 100 },
    );
    expect(after.verdict).toBe('ingest/sequence-gap ingest/alias-in-doubt');
    expect(shown(after)).toEqual(['level 0.1875']);
    expect(intake.rejected.map(({ detail }) => detail)).toEqual([
      expect.stringContaining('3 packets missing before number 5'),
      expect.stringContaining('cannot be resolved until the next birth'),
    ]);
    expect(send('NDATA', 6, [{ alias: 1, int: 60 }]).verdict).toBe('ingest/alias-in-doubt');
    expect(shown(send('DBIRTH', 7, SKID, { timeMs: NOW + 150 }))).toHaveLength(3);
    expect(shown(send('DDATA', 8, [{ alias: 3, float: 801 }], { timeMs: NOW + 180 }))).toEqual(['discharge 801000']);
    expect(send('NDATA', 9, [{ alias: 1, int: 60 }]).verdict).toBe('ingest/alias-in-doubt');
  });

  it('a packet that comes twice is no gap', () => {
    bear();
    send('DDATA', 2, []);
    send('DDATA', 2, []);
    expect(send('DDATA', 3, [{ alias: 3, float: 1 }], { timeMs: NOW + 9 }).verdict).toBe('readings');
  });

  it('a birth with a new meaning of an alias is what counts', () => {
    bear();
    send('NBIRTH', 0, [{ ...NODE[0]!, long: 8n }]);
    send('DBIRTH', 1, [{ name: 'Tank/Level', alias: 3, datatype: FLOAT, float: 12 }], { timeMs: NOW + 50 });
    expect(shown(send('DDATA', 2, [{ alias: 3, float: 8 }], { timeMs: NOW + 100 }))).toEqual(['level 0.1875']);
    expect(send('DDATA', 3, [{ alias: 4, int: 8 }]).verdict).toBe('ingest/no-birth');
  });

  it('without a birth, aliases and bare whole numbers cannot be resolved; names with floats can', () => {
    expect(send('DDATA', 17, [{ alias: 3, float: 800 }]).verdict).toBe('ingest/no-birth');
    expect(send('DDATA', 18, [{ name: 'Pump/Suction pressure', int: 5 }]).verdict).toBe('ingest/no-birth');
    expect(shown(send('DDATA', 19, [{ name: 'Pump/Discharge pressure', float: 800 }]))).toEqual(['discharge 800000']);
  });
});

describe('deaths', () => {
  it('of a node make all its channels unknown at once, and aliases void', () => {
    bear();
    expect(send('NDEATH', null, [{ name: 'bdSeq', long: 7n }])).toMatchObject({
      verdict: 'readings',
      silenced: ['speed', 'discharge', 'suction', 'level'],
    });
    expect(online()).toBe(false);
    expect(send('DDATA', 2, [{ alias: 3, float: 1 }]).verdict).toBe('ingest/no-birth');
  });

  it('of a device make its own unknown', () => {
    bear();
    expect(send('DDEATH', 2, []).silenced).toEqual(['discharge', 'suction', 'level']);
    expect(shown(send('NDATA', 3, [{ alias: 1, int: 60 }], { timeMs: NOW + 100 }))).toEqual(['speed 1']);
  });

  it('of an earlier life, come late, change nothing', () => {
    bear();
    expect(send('NDEATH', null, [{ name: 'bdSeq', long: 6n }])).toMatchObject({
      verdict: 'ingest/old-death',
      silenced: [],
    });
    expect([online(), shown(send('DDATA', 2, [{ alias: 3, float: 1 }], { timeMs: NOW + 100 }))]).toEqual([
      true,
      ['discharge 1000'],
    ]);
  });

  it('reach the picture: stale in the same second, fresh with the next reading', () => {
    const watch = createWatch(layout, { simulated: false });
    const freshness = (atMs: number): string | undefined =>
      watch.advance(atMs)?.channels.find(({ channel }) => channel === 'discharge')?.freshness;
    watch.advance(NOW);
    bear();
    for (const reading of send('DDATA', 2, [{ alias: 3, float: 800 }], { timeMs: NOW + 100 }).readings)
      watch.take(reading);
    expect(freshness(NOW + 1_000)).toBe('fresh');
    for (const channel of send('NDEATH', null, []).silenced) watch.silence(channel);
    expect(freshness(NOW + 2_000)).toBe('stale');
    send('NBIRTH', 0, NODE);
    for (const reading of send('DBIRTH', 1, SKID, { timeMs: NOW + 2_100 }).readings) watch.take(reading);
    expect(freshness(NOW + 3_000)).toBe('fresh');
  });
});

describe('what is no such packet', () => {
  it('is refused or passed over', () => {
    bear();
    const raw = (payload: Uint8Array, topic = 'spBv1.0/hillside/NDATA/pump-node'): string =>
      intake.take({ topic, payload, retained: false, receivedMs: NOW }, 1).verdict;
    expect(raw(Buffer.from('{"timestamp":1}'))).toBe('ingest/not-sparkplug');
    expect(raw(new Uint8Array(270_000))).toBe('ingest/too-large');
    expect(
      raw(
        sparkplugPayload(
          2,
          Array.from({ length: 2_001 }, () => ({})),
        ),
      ),
    ).toBe('ingest/too-many-records');
    expect(send('NBIRTH', 0, NODE, { retained: true }).verdict).toBe('ingest/retained-sparkplug');
    for (const topic of [
      'spBv1.0/hillside/NCMD/pump-node',
      'spBv1.0/hillside/DCMD/pump-node/skid',
      'spBv1.0/hillside/NDATA/pump-node/skid',
      'spBv1.0/hillside/DDATA/pump-node',
    ])
      expect(raw(sparkplugPayload(9, []), topic)).toBe('readings');
    expect(raw(sparkplugPayload(2, []), 'spBv1.0/hillside/NDATA/other-node')).toBe('ingest/bad-topic');
    expect(shown(send('DDATA', 2, [{ alias: 3, float: 1 }], { timeMs: NOW + 100 }))).toEqual(['discharge 1000']);
  });

  it('never throws, whatever the bytes', () => {
    const types = fc.constantFrom('NBIRTH', 'NDATA', 'NDEATH', 'DBIRTH', 'DDATA', 'DDEATH');
    fc.assert(
      fc.property(
        fc.array(fc.tuple(types, fc.uint8Array({ maxLength: 60 }), fc.nat(60), fc.nat(255)), { maxLength: 6 }),
        (packets) => {
          for (const [type, junk, at, byte] of packets) {
            const bytes = junk.length % 2 === 0 ? junk : sparkplugPayload(1, SKID, NOW).with(at, byte);
            const taken = intake.take(
              {
                topic: `spBv1.0/hillside/${type}/pump-node${type.startsWith('D') ? '/skid' : ''}`,
                payload: bytes,
                retained: false,
                receivedMs: NOW,
              },
              1,
            );
            expect(taken.verdict).not.toBe('');
            for (const { value, atMs } of taken.readings)
              expect(Number.isFinite(value) && Number.isFinite(atMs)).toBe(true);
          }
        },
      ),
      { numRuns: 2_000 },
    );
  });
});
