/** What comes by two connections is one; and when the kept session has caught up. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Delivery } from '../../gateway/ingest/devices/duplicates.ts';
import { ParallelConnection } from '../../gateway/ingest/transport/parallel-connection.ts';

const packet = (text: string, more: Partial<Delivery> = {}): Delivery => ({
  topic: 'wetdown/a-site/box/senml',
  payload: Buffer.from(text),
  retained: false,
  ...more,
});
const along = { along: true } as const;

/** How many of them are taken as new. */
function taken(heard: ParallelConnection, packets: readonly Delivery[], wallMs: number): number {
  return packets.filter((one) => {
    if (heard.isTwin(one, wallMs)) return false;
    heard.note(one, wallMs);
    return true;
  }).length;
}

describe('what two connections bring', () => {
  it('is counted by content: equal packets stay as many as were sent, however the connections are interleaved', () => {
    const twice = fc
      .array(fc.constantFrom('a', 'b', 'c'), { maxLength: 30 })
      .chain((sent) => fc.tuple(fc.constant(sent), fc.array(fc.boolean(), { minLength: 60, maxLength: 60 })));
    fc.assert(
      fc.property(twice, ([sent, order]) => {
        const heard = new ParallelConnection();
        heard.choose(true, true, 0);
        const [one, other] = [
          sent.map((text) => packet(text, along)),
          sent.map((text, at) => packet(text, { messageId: at })),
        ];
        const merged = [...order.flatMap((first) => (first ? one : other).splice(0, 1)), ...one, ...other];
        expect(taken(heard, merged, 1)).toBe(sent.length);
      }),
    );
  });

  it('is not one if the first could not be kept', () => {
    const heard = new ParallelConnection();
    heard.choose(true, true, 0);
    expect(heard.isTwin(packet('a', along), 1)).toBe(false);
    expect(heard.isTwin(packet('a', { messageId: 1 }), 2)).toBe(false);
  });

  it('is everything there is while only the kept session is heard', () => {
    const heard = new ParallelConnection();
    expect([heard.choose(false, true, 0), taken(heard, [packet('a'), packet('a')], 1)]).toEqual(['kept', 2]);
  });
});

describe('the connection that listens along', () => {
  it('is open while the disk fails, and then until the kept session brings nothing old any more', () => {
    const heard = new ParallelConnection();
    expect(heard.choose(true, true, 0)).toBe('along');
    taken(
      heard,
      Array.from({ length: 40 }, (_, second) => packet(String(second), along)),
      0,
    );
    expect(heard.choose(false, true, 40_000)).toBe('both');
    for (let second = 0; second < 40; second += 1) {
      const wallMs = 41_000 + 1_000 * second;
      expect(heard.isTwin(packet(String(second), { messageId: second }), wallMs)).toBe(true);
      // What is sent at QoS 0 comes at once, and says nothing of the queue.
      expect(taken(heard, [packet(`now ${second}`, along), packet(`now ${second}`)], wallMs)).toBe(1);
      expect(heard.choose(false, true, wallMs)).toBe('both');
    }
    expect([heard.choose(false, true, 89_000), heard.choose(false, true, 90_000)]).toEqual(['both', 'kept']);
  });

  it('stays while the kept session is not connected', () => {
    const heard = new ParallelConnection();
    heard.choose(true, true, 0);
    for (let wallMs = 1_000; wallMs <= 60_000; wallMs += 1_000) expect(heard.choose(false, false, wallMs)).toBe('both');
    expect([heard.choose(false, true, 69_000), heard.choose(false, true, 70_000)]).toEqual(['both', 'kept']);
  });
});
