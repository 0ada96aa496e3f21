/** Which seconds are due: each whole one once, from that in which the gateway began to listen, none for hours unwatched. */
import { describe, expect, it } from 'vitest';
import { Frames } from '../../gateway/core/telemetry/frames.ts';

const due = (frames: Frames, nowMs: number, wasAway = false): number[] => [...frames.due(nowMs, wasAway)];

describe('frames', () => {
  it('are none before it listens; then the whole second in which it began, and each whole one after it once', () => {
    const frames = new Frames();
    expect(due(frames, 5_000)).toEqual([]);
    expect(frames.begin(10_400)).toBe(true);
    expect(frames.begin(11_400)).toBe(false);
    expect(frames.listening.startedMs).toBe(10_000);
    expect(due(frames, 10_400)).toEqual([10_000]);
    expect(due(frames, 10_999)).toEqual([]);
    expect(due(frames, 12_999)).toEqual([11_000, 12_000]);
  });

  it('are made up for a quarter of an hour, and no more: beyond that nothing was seen', () => {
    const [late, later] = [new Frames(), new Frames()];
    for (const frames of [late, later]) {
      frames.begin(0);
      due(frames, 0);
    }
    expect(due(late, 900_000)).toHaveLength(900);
    expect(due(later, 901_000)).toEqual([901_000]);
  });

  it('after an absence are the present one alone, and it is known how long nobody watched', () => {
    const frames = new Frames();
    frames.begin(0);
    due(frames, 5_000);
    expect(due(frames, 60_500, true)).toEqual([60_000]);
    expect(frames.listening).toEqual({ startedMs: 0, awayFromMs: 5_000, awayToMs: 60_000 });
  });
});
