/** A chart's memory: gaps stay gaps, slow sensors stay lines, the past and the live rows meet without doubles. */
import { describe, expect, it } from 'vitest';
import { Track } from '../../ui/state/track.ts';
import { blankChannel } from '../support/blank-picture.ts';

const fresh = (atMs: number, value: number) =>
  blankChannel('end-a', { atMs, value, freshness: 'fresh', expected: 5, low: 4, high: 6 });
const stale = (atMs: number, value: number) => blankChannel('end-a', { atMs, value, freshness: 'stale' });

describe('a track', () => {
  it('breaks the line where the reading is stale, though the old value is still on the wire', () => {
    const track = new Track();
    track.take(fresh(1_000, 5), 1_000, false);
    track.take(stale(1_000, 5), 2_000, false);
    track.take(fresh(3_000, 5.1), 3_000, false);
    expect(track.measured).toEqual([5, null, 5.1]);
  });

  it('lets the line of a slow sensor run on between two readings', () => {
    const track = new Track();
    track.take(fresh(1_000, 5), 1_000, false);
    track.take(fresh(1_000, 5), 2_000, false);
    track.take(fresh(11_000, 5.2), 11_000, false);
    expect(track.measured).toEqual([5, undefined, 5.2]);
    expect(track.expected).toEqual([5, 5, 5]);
  });

  it('leaves a gap where the screen itself heard nothing', () => {
    const track = new Track();
    track.take(fresh(1_000, 5), 1_000, false);
    track.take(fresh(90_000, 5), 90_000, true);
    expect(track.measured).toEqual([5, null, 5]);
    expect(track.expected[1]).toBeNull();
  });

  it('puts the told past before the live rows, each time once and in order', () => {
    const track = new Track();
    track.take(fresh(3_000, 5.3), 3_000, false);
    track.take(fresh(4_000, 5.4), 4_000, false);
    track.load({
      channel: 'end-a',
      atMs: [1_000, 2_000, 3_000],
      measured: [5.1, null, 5.3],
      expected: [5, 5, 5],
      low: [4, 4, 4],
      high: [6, 6, 6],
    });
    expect(track.atMs).toEqual([1_000, 2_000, 3_000, 4_000]);
    expect(track.measured).toEqual([5.1, null, 5.3, 5.4]);
  });

  it('does not join the told past to live rows across a silence', () => {
    const track = new Track();
    track.take(fresh(400_000, 5.4), 400_000, false);
    track.load({ channel: 'end-a', atMs: [1_000], measured: [5.1], expected: [5], low: [4], high: [6] });
    expect(track.measured).toEqual([5.1, null, 5.4]);
  });

  it('reads off the nearest row, and nothing in a gap or far from any', () => {
    const track = new Track();
    track.take(fresh(1_000, 5), 1_000, false);
    track.take(fresh(1_000, 5), 2_000, false);
    track.take(stale(1_000, 5), 3_000, false);
    expect(track.rowAt(2_100, 2_000)).toEqual({ measured: 5, expected: 5, low: 4, high: 6 });
    expect(track.rowAt(3_000, 2_000)?.measured).toBeNull();
    expect(track.rowAt(60_000, 2_000)).toBeNull();
  });

  it('forgets what lies before its window', () => {
    const track = new Track();
    for (let atMs = 1_000; atMs <= 9_000; atMs += 1_000) track.take(fresh(atMs, 5), atMs, false);
    track.trim(6_000);
    expect(track.atMs).toEqual([6_000, 7_000, 8_000, 9_000]);
    expect(track.low).toHaveLength(4);
  });
});
