/** `npm run clocks [-- LIVES [FIRST]]`: a thousand random lives of a gateway's clock, and what was lost in them. */
import { liveByClocks, type ClockLife } from './clock-history.ts';

const [lives, first] = [Number(process.argv[2] ?? 1_000), Number(process.argv[3] ?? 9_500)];
const sums: Record<keyof ClockLife, number> = {
  acknowledged: 0,
  lost: 0,
  thinned: 0,
  withoutMinute: 0,
  runs: 0,
  steps: 0,
  restarts: 0,
};
for (let seed = first; seed < first + lives; seed += 1) {
  const life = liveByClocks(seed);
  for (const figure of Object.keys(sums) as (keyof ClockLife)[]) sums[figure] += life[figure];
  if (life.lost > 0 || life.withoutMinute > 0) console.log(`seed ${seed}: ${JSON.stringify(life)}`);
  if ((seed - first) % 100 === 99) console.log(`${seed - first + 1} lives: ${JSON.stringify(sums)}`);
}
console.log(
  `${lives} lives of a clock, ${sums.steps} steps, ${sums.restarts} restarts, ${sums.runs} runs: ` +
    `${sums.acknowledged} readings acknowledged, ${sums.lost} lost; ${sums.thinned} thinned when they ` +
    `were old enough, ${sums.withoutMinute} of them without their minute`,
);
process.exit(sums.lost + sums.withoutMinute > 0 ? 1 : 0);
