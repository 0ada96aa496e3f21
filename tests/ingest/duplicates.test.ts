/** What comes twice is one: redelivered with or without the flag, retained, within the memory's window. */
import { describe, expect, it } from 'vitest';
import { Duplicates, type Delivery } from '../../gateway/ingest/devices/duplicates.ts';

const packet = (text: string, more: Partial<Delivery> = {}): Delivery => ({
  topic: 'wetdown/a-site/box/senml',
  payload: Buffer.from(text),
  retained: false,
  ...more,
});

describe('a packet that was there before', () => {
  it.each([
    [
      'dated, sent again with the flag',
      packet('a', { messageId: 1 }),
      packet('a', { messageId: 1, again: true }),
      true,
      true,
    ],
    [
      'dated, sent again without it, under another number',
      packet('a', { messageId: 1 }),
      packet('a', { messageId: 2 }),
      true,
      true,
    ],
    ['dated, at QoS 0', packet('a'), packet('a'), true, true],
    ['dated, retained afterwards', packet('a'), packet('a', { retained: true }), true, true],
    ['a status, retained again', packet('a', { retained: true }), packet('a', { retained: true }), true, true],
    [
      'undated, sent again with the flag',
      packet('a', { messageId: 7 }),
      packet('a', { messageId: 7, again: true }),
      false,
      true,
    ],
    ['undated, the same value once more', packet('a', { messageId: 7 }), packet('a', { messageId: 8 }), false, false],
    [
      'undated, the same value under a number used again',
      packet('a', { messageId: 7 }),
      packet('a', { messageId: 7 }),
      false,
      false,
    ],
    [
      'undated, with the flag, first copy never seen',
      packet('a', { messageId: 7 }),
      packet('a', { messageId: 8, again: true }),
      false,
      false,
    ],
    ['dated, by another device', packet('a'), { ...packet('a'), topic: 'wetdown/a-site/other/senml' }, true, false],
    ['dated, other content', packet('a'), packet('b'), true, false],
  ])('%s', (_what, first, second, dated, duplicate) => {
    const duplicates = new Duplicates();
    expect(duplicates.isOne(first, dated, 1)).toBe(false);
    expect(duplicates.isOne(second, dated, 2)).toBe(duplicate);
    expect(duplicates.told.map(({ reason, count, lastMs }) => [reason, count, lastMs])).toEqual(
      duplicate ? [['ingest/duplicate', 1, 2]] : [],
    );
  });

  it('is remembered for a window, and the memory is bounded', () => {
    const duplicates = new Duplicates();
    for (let number = 0; number < 250_000; number += 1)
      duplicates.isOne(packet(String(number), { messageId: number % 65_536 }), true, number);
    expect(duplicates.isOne(packet('151000'), true, 0)).toBe(true);
    expect(duplicates.isOne(packet('1000'), true, 0)).toBe(false);
  });

  it('is none if the first could not be kept', () => {
    const duplicates = new Duplicates();
    const [first, again] = [packet('a', { messageId: 7 }), packet('a', { messageId: 7, again: true })];
    duplicates.isOne(first, true, 1);
    expect(duplicates.isAgain(again)).toBe(true);
    duplicates.forget(first);
    expect([duplicates.isAgain(again), duplicates.isOne(again, true, 2)]).toEqual([false, false]);
  });
});
