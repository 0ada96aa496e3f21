/**
 * Makes hostile packets out of valid ones: cut, bent, nested, blown up, with the wrong types, units, times, names and
 * topics.
 *
 * In: a valid packet and a seeded die (0 up to 1). Out: another packet and the kind of harm. The same seed gives the
 * same packets.
 */
export interface WirePacket {
  readonly topic: string;
  readonly payload: Uint8Array;
}

export type Die = () => number;

/** Mulberry32, a public-domain generator (from memory). */
export function dieOf(seed: number): Die {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

const NAMES = [
  "'; drop table packet; --",
  '" or 1=1 --',
  '<img src=x onerror=alert(1)>',
  '</script><script>alert(1)</script>',
  '=cmd|calc!A1',
  '__proto__',
  'constructor',
  'toString',
  'hasOwnProperty',
  '\u202Egnp.exe',
  'a\u0000b',
  '\uFEFFx',
  'Z\u0351\u036B\u0343\u036A\u0302',
  '\u{1F525}'.repeat(40),
  '\uD800',
  '../../etc',
  '%2e%2e%2f',
  '${jndi}',
  '\r\nSet-Cookie: a=b',
  'x'.repeat(3_000),
  '',
  ' ',
];
const VALUES = [
  '"812,5"',
  '"NaN"',
  'NaN',
  '1e999',
  '-1e999',
  'null',
  'true',
  '[]',
  '{}',
  '[[1]]',
  '"1"',
  '-0.0e-999',
  '0x10',
  '1_000',
  '.5',
  '99999999999999999999999999999',
  '{"valueOf":1}',
  '"\\ud800"',
  '١٢',
];
const UNITS = [
  '"psi"',
  '"bar"',
  '"kpa"',
  '"PA"',
  '"Pa "',
  '"gal"',
  '"l/min"',
  '"%"',
  '"Cel"',
  '5',
  'null',
  '[]',
  '"m3/s\\u0000"',
  '"__proto__"',
  '""',
];
const TIMES = ['1e308', '-1e308', '"now"', 'null', '1e15', '-5e9', '[]', '4102444801', '0.1e400'];

type Harm = (text: string, die: Die) => string | Uint8Array;

function pick<Item>(die: Die, items: readonly Item[]): Item {
  return items[Math.floor(die() * items.length)] as Item;
}

/** Replaces what one member of the pack holds, as text: JSON could not say most of these. */
function bend(text: string, die: Die, member: string, values: readonly string[]): string {
  const found = [...text.matchAll(new RegExp(`"${member}":("[^"]*"|[-\\d.e+]+)`, 'g'))];
  const hit = pick(die, found);
  if (!hit) return `[{"n":"discharge","${member}":${pick(die, values)}}]`;
  return `${text.slice(0, hit.index)}"${member}":${pick(die, values)}${text.slice(hit.index + hit[0].length)}`;
}

const HARMS: Readonly<Record<string, Harm>> = {
  truncated: (text, die) => text.slice(0, Math.floor(die() * text.length)),
  flipped: (text, die) => {
    const bytes = Buffer.from(text);
    for (let flips = 1 + Math.floor(die() * 8); flips > 0; flips -= 1)
      bytes[Math.floor(die() * bytes.length)] = Math.floor(die() * 256);
    return bytes;
  },
  random: (_text, die) => Uint8Array.from({ length: Math.floor(die() * 200) }, () => Math.floor(die() * 256)),
  doubled: (text, die) => text.slice(0, Math.floor(die() * text.length)) + text.slice(Math.floor(die() * text.length)),
  deep: (_text, die) => {
    const depth = 1 + Math.floor(die() * (die() < 0.02 ? 30_000 : 200));
    return pick(die, ['[', '{"a":', '[{"n":']).repeat(depth) + '1' + pick(die, [']', '}', '}]']).repeat(depth);
  },
  value: (text, die) => bend(text, die, 'v', VALUES),
  unit: (text, die) => bend(text, die, 'u', UNITS),
  time: (text, die) => bend(text, die, pick(die, ['bt', 't']), TIMES),
  name: (text, die) =>
    bend(
      text,
      die,
      pick(die, ['n', 'bn']),
      NAMES.map((name) => JSON.stringify(name)),
    ),
  member: (text, die) =>
    text.replace(
      '{',
      `{${pick(die, ['"__proto__":{"v":1}', '"constructor":{"prototype":{}}', '"must_":1', '"bver":99', '"bver":"x"', '"bv":1e999', '"v":1,"vs":"x"', '"vb":1'])},`,
    ),
  records: (_text, die) =>
    JSON.stringify(
      Array.from({ length: die() < 0.05 ? 2_100 : 1 + Math.floor(die() * 30) }, () =>
        pick<unknown>(die, [null, 1, [], {}, { n: 'discharge' }, { n: 'discharge', v: 'x' }, { v: 1 }, 'x']),
      ),
    ),
  other: (_text, die) =>
    pick(die, [
      '',
      'null',
      '0',
      '"x"',
      '{}',
      '[]',
      '[[]]',
      'online',
      '<SenML/>',
      '\uFEFF[]',
      '{"online":"perhaps"}',
      '{"timeMs":"x"}',
      '{"timeMs":-1}',
      '{"timeMs":1e300,"speed":0}',
    ]),
};
const KINDS = Object.keys(HARMS);

export function harm({ topic, payload }: WirePacket, die: Die): WirePacket & { readonly kind: string } {
  const kind = pick(die, KINDS);
  const text = new TextDecoder().decode(payload);
  // Rare, because each is as large as a thousand others.
  const harmed = die() < 0.0005 ? 'x'.repeat(70_000 + Math.floor(die() * 30_000)) : HARMS[kind]!(text, die);
  return {
    topic: die() < 0.3 ? strangeTopic(topic, die) : topic,
    payload: typeof harmed === 'string' ? Buffer.from(harmed) : harmed,
    kind,
  };
}

function strangeTopic(topic: string, die: Die): string {
  const levels = topic.split('/');
  const name = pick(die, NAMES).replaceAll('\u0000', '').slice(0, 200);
  const at = Math.floor(die() * levels.length);
  return (
    pick(die, [
      levels.with(at, name),
      levels.slice(0, at),
      [...levels, name],
      levels.with(2, name),
      levels.with(2, `stranger-${Math.floor(die() * 5_000)}`),
      levels.with(3, 'status'),
      [levels[0] ?? '', levels[1] ?? '', 'simulation'],
    ]).join('/') || 'wetdown'
  );
}
