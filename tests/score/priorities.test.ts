/** Priorities over scenarios, the short form: its own arithmetic, and a quarter of an hour of one of them. */
import { describe, expect, it } from 'vitest';
import { distributionOf, prioritiesText, SCENARIOS, sharesOf, sumOf } from './priorities.ts';

const row = (low: number, medium: number, high: number, people = 0) => ({ byPriority: { low, medium, high, people } });

describe('the shares of priorities', () => {
  it('are of all that was annunciated, hazards to people among the high ones', () => {
    expect(sharesOf(row(16, 3, 0, 1).byPriority)).toEqual({ all: 20, shares: [0.8, 0.15, 0.05] });
    expect(sharesOf(row(0, 0, 0).byPriority)).toEqual({ all: 0, shares: [0, 0, 0] });
    expect(sumOf([row(1, 2, 3, 4), row(10, 20, 30, 40)])).toEqual({ low: 11, medium: 22, high: 33, people: 44 });
  });

  it('are printed beside the aim, a line a scenario and one for all', () => {
    const of = {
      scenario: 'x',
      hours: 24,
      worstHour: 3,
      chattering: 0,
      flagged: ['low: a weep [no head is lost by it]'],
    };
    const lines = prioritiesText(
      [
        { ...of, ...row(8, 1, 1) },
        { ...of, ...row(8, 2, 0) },
      ],
      true,
    ).split('\n');
    expect(lines[1]).toMatch(/^x +10 +80 % +10 % +10 % +0 {2}3, 0$/);
    expect(lines.filter((line) => line.includes('a weep')).length).toBe(2);
    expect(lines.at(-3)).toMatch(/^all +20 +80 % +15 % +5 % +0/);
    expect(lines.at(-2)).toMatch(/^aimed at +80 % +15 % +5 %$/);
  });
});

describe('a scenario', () => {
  it('every bundled one can be played', () => expect(SCENARIOS).toContain('windy-night'));

  it('frost: an iced gauge is Low, each alarm with its reason, and none chatters', () => {
    const { byPriority, flagged, chattering } = distributionOf('frost', 0.2, 9_841);
    expect(byPriority.people).toBe(0);
    expect(chattering).toBe(0);
    expect(
      flagged.some((words) => /^low: end of line D/.test(words)),
      flagged.join('\n'),
    ).toBe(true);
    expect(flagged.filter((words) => words.includes('[]'))).toEqual([]);
  }, 60_000);
});
