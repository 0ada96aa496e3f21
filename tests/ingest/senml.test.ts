/**
 * The decoder against the examples and rules of RFC 8428 (Sensor Measurement Lists, 2018), and its own stricter rules.
 */
import { describe, expect, it } from 'vitest';
import { PACKET_BYTES_MAX, readSenml, type SenmlRecord } from '../../gateway/ingest/payloads/senml.ts';

function read(pack: unknown): ReturnType<typeof readSenml> {
  return readSenml(Buffer.from(typeof pack === 'string' ? pack : JSON.stringify(pack)));
}

function accepted(pack: unknown): readonly SenmlRecord[] {
  const { records, refused } = read(pack);
  expect(refused).toEqual([]);
  return records;
}

const BOX = 'urn:dev:ow:10e2073a01080063';

describe('examples of RFC 8428', () => {
  it('5.1.1: one value now', () => {
    expect(accepted([{ n: BOX, u: 'Cel', v: 23.1 }])).toEqual([
      { name: BOX, unit: 'Cel', value: 23.1, time: { kind: 'none' } },
    ]);
  });

  it('5.1.2: a base name for several records', () => {
    const records = accepted([
      { bn: `${BOX}:`, n: 'voltage', u: 'V', v: 120.1 },
      { n: 'current', u: 'A', v: 1.2 },
    ]);
    expect(records.map(({ name, unit, value }) => [name, unit, value])).toEqual([
      [`${BOX}:voltage`, 'V', 120.1],
      [`${BOX}:current`, 'A', 1.2],
    ]);
  });

  it('5.1.2: base time, base unit, base version, and times before it', () => {
    const records = accepted([
      { bn: 'urn:dev:ow:10e2073a0108006:', bt: 1.276020076001e9, bu: 'A', bver: 5, n: 'voltage', u: 'V', v: 120.1 },
      { n: 'current', t: -5, v: 1.2 },
      { n: 'current', v: 1.7 },
    ]);
    expect(records.map(({ unit }) => unit)).toEqual(['V', 'A', 'A']);
    expect(records.map(({ time }) => time)).toEqual(
      [1276020076001, 1276020071001, 1276020076001].map((atMs) => ({ kind: 'absolute', atMs })),
    );
  });

  it('5.1.3: the base name alone is the name', () => {
    const records = accepted([
      { bn: BOX, bt: 1.320067464e9, bu: '%RH', v: 20 },
      { u: 'lon', v: 24.30621 },
      { u: '%EL', t: 150, v: 98 },
    ]);
    expect(records.map(({ name, unit }) => [name, unit])).toEqual([
      [BOX, '%RH'],
      [BOX, 'lon'],
      [BOX, '%EL'],
    ]);
    expect(records[2]?.time).toEqual({ kind: 'absolute', atMs: 1320067614000 });
  });

  it('5.1.5: texts, flags and data beside numbers', () => {
    const records = accepted([
      { bn: `${BOX}:`, n: 'temp', u: 'Cel', v: 23.1 },
      { n: 'label', vs: 'Machine Room' },
      { n: 'open', vb: false },
      { n: 'nfc-reader', vd: 'aGkgCg' },
    ]);
    expect(records.map(({ value }) => value)).toEqual([23.1, 'Machine Room', false, 'aGkgCg']);
  });

  it('5.1.6: a second base name, the first base time', () => {
    const records = accepted([
      { bn: '2001:db8::2/', bt: 1.320078429e9, n: 'temperature', u: 'Cel', v: 25.2 },
      { bn: '2001:db8::1/', n: 'humidity', u: '%RH', v: 67 },
    ]);
    expect(records[1]).toEqual({
      name: '2001:db8::1/humidity',
      unit: '%RH',
      value: 67,
      time: { kind: 'absolute', atMs: 1320078429000 },
    });
  });

  it('5.1.7: a record that only sets the base', () => {
    expect(
      accepted([{ bn: `${BOX}:` }, { n: 'temp', u: 'Cel', v: 23.1 }, { n: 'heat', u: '/', v: 1 }]).map(
        ({ name }) => name,
      ),
    ).toEqual([`${BOX}:temp`, `${BOX}:heat`]);
  });
});

describe('rules of RFC 8428', () => {
  it('adds the base value (4.1)', () => {
    expect(
      accepted([
        { n: 'a', bv: 100, v: 2.5 },
        { n: 'b', v: -1 },
      ]).map(({ value }) => value),
    ).toEqual([102.5, 99]);
  });

  it('takes times below 2^28 as relative to now, the others as absolute (4.5.3)', () => {
    const times = accepted([
      { n: 'a', t: 2 ** 28 - 1, v: 1 },
      { n: 'a', t: 2 ** 28, v: 1 },
      { n: 'a', t: -30, v: 1 },
      { n: 'a', bt: 1.7e9, t: 5, v: 1 },
    ]).map(({ time }) => time);
    expect(times).toEqual([
      { kind: 'relative', offsetMs: (2 ** 28 - 1) * 1000 },
      { kind: 'absolute', atMs: 2 ** 28 * 1000 },
      { kind: 'relative', offsetMs: -30_000 },
      { kind: 'absolute', atMs: 1_700_000_005_000 },
    ]);
  });

  it('ignores members it does not know, unless their name ends in _ (4.4)', () => {
    expect(accepted([{ n: 'a', v: 1, colour: 'red', ut: 60 }])).toHaveLength(1);
    expect(
      read([
        { n: 'a', v: 1 },
        { n: 'b', v: 1, colour_: 'red' },
      ]),
    ).toMatchObject({ records: [], refused: [{ reason: 'ingest/must-understand' }] });
  });

  it.each([
    ['a later version (4.4)', [{ bver: 11, n: 'a', v: 1 }], 'ingest/unknown-version'],
    ['a name with a space (4.5.1)', [{ n: 'a b', v: 1 }], 'ingest/bad-name'],
    ['a name that starts with a colon (4.5.1)', [{ n: ':a', v: 1 }], 'ingest/bad-name'],
    ['no name at all (4.5.1)', [{ v: 1 }], 'ingest/bad-name'],
    ['two values (4.2)', [{ n: 'a', v: 1, vb: true }], 'ingest/several-values'],
    ['no value (4.2)', [{ n: 'a' }], 'ingest/no-value'],
    ['an object instead of an array (5)', { n: 'a', v: 1 }, 'ingest/not-a-pack'],
    ['an empty array', [], 'ingest/not-a-pack'],
    ['a record that is none', [[1]], 'ingest/bad-record'],
    ['a base time that is a text', [{ bn: 'a', bt: '1.7e9', v: 1 }], 'ingest/bad-base'],
    ['a base name that is a number', [{ bn: 7, v: 1 }], 'ingest/bad-base'],
    ['a time that is a text', [{ n: 'a', t: 'now', v: 1 }], 'ingest/bad-time'],
    ['a unit that is a number', [{ n: 'a', u: 1, v: 1 }], 'ingest/bad-unit'],
  ])('refuses %s', (_words, pack, reason) => {
    expect(read(pack).refused[0]?.reason).toBe(reason);
    expect(read(pack).records).toEqual([]);
  });
});

describe('what is no number', () => {
  it.each([
    ['a text', '[{"n":"a","v":"412.6"}]', 'ingest/not-a-number'],
    ['a decimal comma in a text', '[{"n":"a","v":"412,6"}]', 'ingest/not-a-number'],
    ['a decimal comma', '[{"n":"a","v":412,6}]', 'ingest/not-json'],
    ['NaN', '[{"n":"a","v":NaN}]', 'ingest/not-json'],
    ['a number too large for a double', '[{"n":"a","v":1e999}]', 'ingest/not-a-number'],
    ['null', '[{"n":"a","v":null}]', 'ingest/not-a-number'],
    ['a sum that is too large with its base', '[{"n":"a","bv":1.7e308,"v":1.7e308}]', 'ingest/not-a-number'],
    ['no text at all', '', 'ingest/not-json'],
  ])('refuses %s', (_words, pack, reason) => {
    expect(read(pack).refused.map((refusal) => refusal.reason)).toEqual([reason]);
  });

  it('never lets the base value stand in for a missing one', () => {
    expect(read([{ bn: 'box:', bv: 400, n: 'a', v: 1 }, { n: 'b' }])).toMatchObject({
      records: [{ value: 401 }],
      refused: [{ reason: 'ingest/no-value' }],
    });
  });

  it('keeps the good records beside a bad one', () => {
    expect(
      read([
        { n: 'a', v: 1 },
        { n: 'b', v: 'x' },
        { n: 'c', v: 3 },
      ]).records.map(({ name }) => name),
    ).toEqual(['a', 'c']);
  });
});

describe('sizes', () => {
  it('refuses bytes that are no UTF-8, packets and packs that are too large', () => {
    expect(readSenml(Buffer.from([0x5b, 0xff, 0x5d])).refused[0]?.reason).toBe('ingest/not-utf8');
    expect(read(`[${' '.repeat(PACKET_BYTES_MAX)}]`).refused[0]?.reason).toBe('ingest/too-large');
    expect(read(Array.from({ length: 2_001 }, () => ({ n: 'a', v: 1 }))).refused[0]?.reason).toBe(
      'ingest/too-many-records',
    );
  });

  it('is not upset by deep nesting or by names that mean something to JavaScript', () => {
    expect(read('['.repeat(60_000)).refused[0]?.reason).toBe('ingest/not-json');
    expect(read(`${'['.repeat(30_000)}${']'.repeat(30_000)}`).refused[0]?.reason).toBe('ingest/bad-record');
    expect(accepted('[{"constructor":1,"toString":{"v":5},"n":"a","v":1}]')).toMatchObject([{ value: 1 }]);
    expect(read('[{"constructor":{"v":5},"n":"a"}]').refused[0]?.reason).toBe('ingest/no-value');
    expect(read('[{"__proto__":{"v":5},"n":"a","v":1}]').refused[0]?.reason).toBe('ingest/must-understand');
  });
});
