/** Twenty-five random lives of a clock; `npm run clocks` lives a thousand. */
import { expect, it } from 'vitest';
import { liveByClocks } from './clock-history.ts';

it('whatever the clock does, no acknowledged reading is lost, and what is old enough is thinned to minutes', () => {
  const lives = Array.from({ length: 25 }, (_, life) => liveByClocks(9_500 + life));
  const sum = (figure: keyof (typeof lives)[number]): number => lives.reduce((total, life) => total + life[figure], 0);
  expect([sum('lost'), sum('withoutMinute')]).toEqual([0, 0]);
  expect(sum('acknowledged')).toBeGreaterThan(1_000);
  // The lives have what they are about.
  for (const figure of ['thinned', 'steps', 'restarts', 'runs'] as const) expect(sum(figure)).toBeGreaterThan(25);
}, 240_000);
