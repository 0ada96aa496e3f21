/** What a screen keeps for itself: entries that a gateway lost, finds that did not come, work that waits its turn. */
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import { finds } from '../../ui/state/finds.svelte.ts';
import { inTurn, leaveTurn } from '../../ui/state/in-turn.ts';
import { unwritten } from '../../ui/state/unwritten.svelte.ts';
import { BLANK_FEED } from '../support/blank-picture.ts';

describe('an entry that the gateway has in memory only', () => {
  const feed = (session: string, written: number): FeedPicture => ({
    ...BLANK_FEED,
    journal: { state: 'writing', why: null, entries: { session, taken: 9, written } },
  });
  const lost = (): string[] => unwritten.lost.map(({ words }) => words);

  it('waits, is written once the disk has it, and is lost with another session until somebody has read that', () => {
    const [first, second] = [
      { session: 'kept-a', number: 1 },
      { session: 'kept-a', number: 2 },
    ];
    unwritten.follow(first, 'note: tank filled');
    unwritten.follow(second, 'gate A shut');
    unwritten.hear(feed('kept-a', 1));
    expect([unwritten.of(first), unwritten.of(second), ...lost()]).toEqual(['written', 'waits']);
    unwritten.hear(feed('kept-b', 9));
    expect([unwritten.of(first), unwritten.of(second), ...lost()]).toEqual(['written', 'lost', 'gate A shut']);
    unwritten.seen(second);
    expect([unwritten.of(second), ...lost()]).toEqual(['lost']);
  });
});

describe('finds', () => {
  afterEach(() => {
    vi.unstubAllGlobals();
    finds.forget();
  });

  it('say why they could not be fetched, and nothing once they could', async () => {
    vi.stubGlobal('fetch', () => Promise.reject(new TypeError('no way there')));
    await finds.load();
    expect(finds.trouble).toEqual(expect.stringMatching(/\w/));
    vi.stubGlobal('fetch', () => Promise.resolve(Response.json([])));
    await finds.load();
    expect([finds.trouble, finds.entries]).toEqual([null, []]);
  });
});

describe('long work in turn', () => {
  beforeEach(() => void vi.useFakeTimers());
  afterEach(() => void vi.useRealTimers());

  it('does a piece once, in its newest state, and not at all when it has left the screen', () => {
    const done: string[] = [];
    const [chart, list] = [{}, {}];
    inTurn(chart, () => done.push('chart as it was'));
    inTurn(list, () => done.push('list'));
    inTurn(chart, () => done.push('chart'));
    leaveTurn(list);
    vi.runAllTimers();
    expect(done).toEqual(['chart']);
  });
});
