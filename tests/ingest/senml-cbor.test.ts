/** SenML in CBOR: the example of RFC 8428 section 6, its labels, what is told apart from JSON, and what is refused. */
import { encode } from 'cborg';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Intake } from '../../gateway/ingest/intake.ts';
import { readSenml } from '../../gateway/ingest/payloads/senml.ts';
import { demoSite } from '../support/demo-site.ts';

type Labels = ReadonlyMap<number | string, unknown>;

function hex(text: string): Uint8Array {
  return Buffer.from(text.replaceAll(/\s/g, ''), 'hex');
}

function pack(...records: readonly Labels[]): Uint8Array {
  return encode(records, { float64: false });
}

const record = (...members: readonly (readonly [number | string, unknown])[]): Labels => new Map(members);
const read = (bytes: Uint8Array): ReturnType<typeof readSenml> => readSenml(bytes);

describe('RFC 8428 in CBOR', () => {
  it('section 6: the example of several values, as it is in JSON (5.1.2)', () => {
    const current = '00 67 63757272656e74';
    const bytes = hex(
      '87 a7 21 78 1b 75726e3a6465763a6f773a3130653230373361303130383030363a 22 fb 41d303a15b001062 23 ' +
        `61 41 20 05
      00 67 766f6c74616765 01 61 56 02 fb 405e066666666666
      a3 ${current} 06 ` +
        `24 02 fb 3ff3333333333333 a3 ${current} 06 23 02 fb 3ff4cccccccccccd a3 ${current} 06 22 02 fb ` +
        `3ff6666666666666
      a3 ${current} 06 21 02 f9 3e00 a3 ${current} 06 20 02 fb ` +
        `3ff999999999999a a2 ${current} 02 fb 3ffb333333333333`,
    );
    const json = `[{"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,"n":"voltage","u":"V","v":120.1},
      {"n":"current","t":-5,"v":1.2},{"n":"current","t":-4,"v":1.3},{"n":"current","t":-3,"v":1.4},{"n":"current","t":-2,"v":1.5},{"n":"current","t":-1,"v":1.6},{"n":"current","v":1.7}]`;
    const { records, refused } = read(bytes);
    expect(refused).toEqual([]);
    expect(records).toHaveLength(7);
    expect(records).toEqual(readSenml(Buffer.from(json)).records);
    expect(records[1]?.time).toEqual({ kind: 'absolute', atMs: 1_276_020_071_001 });
  });

  it('labels of table 4: base fields, texts, flags, data, sums and update times', () => {
    const { records, refused } = read(
      pack(
        record([-1, 10], [-2, 'box:'], [-3, 1_700_000_000], [-4, 'Pa'], [-5, 100], [-6, 0]),
        record([0, 'p'], [2, 5], [6, -2], [7, 60]),
        record([0, 'state'], [3, 'wet']),
        record([0, 'open'], [4, false]),
        record([0, 'raw'], [8, Uint8Array.of(0x68, 0x69, 0xff)]),
        record([0, 'q'], [1, 'l/s'], [2, 1], [5, 9]),
      ),
    );
    expect(refused).toEqual([]);
    expect(records.map(({ name, unit, value }) => [name, unit, value])).toEqual([
      ['box:p', 'Pa', 105],
      ['box:state', 'Pa', 'wet'],
      ['box:open', 'Pa', false],
      ['box:raw', 'Pa', 'aGn_'],
      ['box:q', 'l/s', 101],
    ]);
    expect(records[0]?.time).toEqual({ kind: 'absolute', atMs: 1_699_999_998_000 });
  });

  it('times below 2^28 count from now, also those that are not given (4.5.3)', () => {
    expect(read(pack(record([0, 'a'], [2, 1], [6, -30]))).records[0]?.time).toEqual({
      kind: 'relative',
      offsetMs: -30_000,
    });
    expect(read(pack(record([0, 'a'], [2, 1]))).records[0]?.time).toEqual({ kind: 'none' });
  });

  it('takes arrays and maps of open length, decimal fractions, a mark in front, half floats and extra members', () => {
    expect(read(hex('9f bf 00 61 61 02 19 0190 ff ff')).records).toMatchObject([{ name: 'a', value: 400 }]);
    expect(read(hex('81 a2 00 61 61 02 c4 82 21 19 6ab3')).records[0]?.value).toBe(273.15);
    expect(read(hex('d9d9f7 81 a2 00 61 61 02 f9 3e00')).records[0]?.value).toBe(1.5);
    expect(read(pack(record([0, 'a'], [2, 1], ['simulated', true], [40, 'unknown label']))).simulated).toBe(true);
  });

  it.each([
    ['cut off', hex('82 a2 00 61 61 02 01'), 'ingest/not-cbor'],
    ['two items', hex('81 a2 00 61 61 02 01 00'), 'ingest/not-cbor'],
    ['a label twice', hex('81 a3 00 61 61 02 01 02 02'), 'ingest/not-cbor'],
    ['a label as number and as text', hex('81 a3 00 61 61 02 01 61 76 02'), 'ingest/bad-record'],
    ['a date tag instead of a number', hex('81 a2 00 61 61 02 c1 1a 514b67b0'), 'ingest/not-cbor'],
    ['an array of numbers', hex('83 01 02 03'), 'ingest/bad-record'],
    ['an empty array', hex('80'), 'ingest/not-a-pack'],
    ['a map behind the mark', hex('d9d9f7 a0'), 'ingest/not-a-pack'],
    ['a member that must be understood', pack(record([0, 'a'], [2, 1], ['valve_', 1])), 'ingest/must-understand'],
    ['a later version', pack(record([-1, 11], [0, 'a'], [2, 1])), 'ingest/unknown-version'],
    ['not a number', hex('81 a2 00 61 61 02 f9 7e00'), 'ingest/not-a-number'],
    ['endless', hex('81 a2 00 61 61 02 f9 7c00'), 'ingest/not-a-number'],
    ['beyond a double', hex('81 a2 00 61 61 02 c4 82 19 0400 01'), 'ingest/not-a-number'],
    ['an integer beyond 2^53', hex('81 a2 00 61 61 02 1b ffffffffffffffff'), 'ingest/not-a-number'],
    ['null', hex('81 a2 00 61 61 02 f6'), 'ingest/not-a-number'],
    ['undefined', hex('81 a2 00 61 61 02 f7'), 'ingest/not-a-number'],
    ['a text', hex('81 a2 00 61 61 02 63 332c32'), 'ingest/not-a-number'],
    ['brackets without end', new Uint8Array(60_000).fill(0x81), 'ingest/not-cbor'],
    ['a length that is a lie', hex('9a ffffffff 01'), 'ingest/not-cbor'],
    ['too many records', encode(Array.from({ length: 2_001 }, () => 1)), 'ingest/too-many-records'],
  ])('refuses %s', (_words, bytes, reason) => {
    expect(read(bytes).refused[0]?.reason).toBe(reason);
    expect(read(bytes).records).toEqual([]);
  });

  it('comes on the same topic as JSON, and is marked as simulated alike', () => {
    const intake = new Intake(demoSite().layout);
    const packet = { topic: 'wetdown/larch-cove/end-a/senml', retained: false, receivedMs: 1_790_000_000_000 };
    const one = {
      ...packet,
      payload: pack(record([-2, 'box:'], [0, 'pressure'], [1, 'kPa'], [2, 412], ['simulated', true])),
    };
    expect(intake.take(one, 1).readings).toMatchObject([{ channel: 'end-a-pressure', value: 412_000 }]);
    expect(intake.isSimulated(one)).toBe(true);
  });

  it('never throws, whatever the bytes', () => {
    fc.assert(
      fc.property(fc.constantFrom(0x81, 0x82, 0x9f, 0xd9), fc.uint8Array({ maxLength: 200 }), (first, rest) => {
        const { records, refused } = read(Uint8Array.of(first, ...rest));
        expect(records.length > 0 || refused.length > 0 || rest.length > 0).toBe(true);
        for (const { value } of records) expect(typeof value === 'number' ? Number.isFinite(value) : true).toBe(true);
      }),
      { numRuns: 3_000 },
    );
  });
});
