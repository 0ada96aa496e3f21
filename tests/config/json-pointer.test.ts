/**
 * JSON Pointer against the examples of RFC 6901 section 5, and topic filters against those of MQTT 3.1.1 section 4.7.
 */
import { describe, expect, it } from 'vitest';
import { follow, parsePointer } from '../../config/mapping/json-pointer.ts';
import { isTopicFilter, matchesTopic } from '../../config/mapping/topic-filter.ts';

const DOCUMENT = {
  foo: ['bar', 'baz'],
  '': 0,
  'a/b': 1,
  'c%d': 2,
  'e^f': 3,
  'g|h': 4,
  'i\\j': 5,
  'k"l': 6,
  ' ': 7,
  'm~n': 8,
};

describe('JSON Pointer (RFC 6901)', () => {
  it.each([
    ['', DOCUMENT],
    ['/foo', ['bar', 'baz']],
    ['/foo/0', 'bar'],
    ['/', 0],
    ['/a~1b', 1],
    ['/c%d', 2],
    ['/e^f', 3],
    ['/g|h', 4],
    ['/i\\j', 5],
    ['/k"l', 6],
    ['/ ', 7],
    ['/m~0n', 8],
  ])('%s', (text, value) => {
    expect(follow(DOCUMENT, parsePointer(text) ?? ['no pointer'])).toEqual({ found: true, value });
  });

  it('reads ~01 as ~1 and not as a slash (section 4)', () => {
    expect(follow({ '~1': 'right', '/': 'wrong' }, parsePointer('/~01')!)).toEqual({ found: true, value: 'right' });
  });

  it.each(['foo', '/m~n', '/~', '/a~2b', '#/foo'])('%s is no pointer', (text) => {
    expect(parsePointer(text)).toBeNull();
  });

  it.each([
    '/foo/2',
    '/foo/00',
    '/foo/-',
    '/foo/-1',
    '/foo/1e0',
    '/foo/length',
    '/bar',
    '/foo/0/0',
    '/__proto__',
    '/constructor',
    '/foo/__proto__',
  ])('%s finds nothing', (text) => {
    expect(follow(DOCUMENT, parsePointer(text)!)).toMatchObject({ found: false });
  });

  it('tells a last step that is missing from a way there that is missing', () => {
    const inside = { a: { b: 1 } };
    expect(follow(inside, ['a', 'c'])).toEqual({ found: false, parent: { b: 1 } });
    expect(follow(inside, ['x', 'c'])).toEqual({ found: false, parent: undefined });
    expect(follow(JSON.parse('{"__proto__":{"v":5}}'), ['__proto__', 'v'])).toEqual({ found: true, value: 5 });
  });
});

describe('topic filters (MQTT 3.1.1 section 4.7)', () => {
  const PLAYER = 'sport/tennis/player1';

  it.each([
    [`${PLAYER}/#`, PLAYER],
    [`${PLAYER}/#`, `${PLAYER}/ranking`],
    [`${PLAYER}/#`, `${PLAYER}/score/wimbledon`],
    ['sport/#', 'sport'],
    ['#', 'sport/a'],
    ['sport/tennis/+', PLAYER],
    ['sport/+', 'sport/'],
    ['+/+', '/finance'],
    ['/+', '/finance'],
    ['$SYS/#', '$SYS/a'],
  ])('%s matches %s', (filter, topic) => {
    expect([isTopicFilter(filter), matchesTopic(filter, topic)]).toEqual([true, true]);
  });

  it.each([
    ['sport/tennis/+', `${PLAYER}/ranking`],
    ['sport/+', 'sport'],
    ['+', '/finance'],
    ['#', '$SYS/a'],
    ['+/monitor', '$SYS/monitor'],
    ['sport', 'Sport'],
    ['a/b', 'a'],
    ['a', 'a/b'],
  ])('%s does not match %s', (filter, topic) => {
    expect(matchesTopic(filter, topic)).toBe(false);
  });

  it.each(['sport/tennis#', 'sport/tennis/#/ranking', 'sport+', '', 'a/+b/c', 'a\u0000b'])(
    '%j is no filter',
    (filter) => {
      expect(isTopicFilter(filter)).toBe(false);
    },
  );
});
