/**
 * `npm run kill [-- KILLS]`: pulls the plug 200 times on each broker under 500 readings a second, and says what was
 * lost.
 */
import { pullThePlug } from './plug.ts';

const kills = Number(process.argv[2] ?? 200);
let failed = false;
for (const kind of ['inside', 'mosquitto'] as const) {
  const { backMs, ...outcome } = await pullThePlug(kind, kills, 500, 9_001, (kill) => {
    if (kill % 20 === 0) console.log(`${kind}: ${kill} kills`);
  });
  const sorted = [...backMs].sort((one, other) => one - other);
  const [median, slowest] = [sorted[Math.floor(sorted.length / 2)] ?? NaN, sorted.at(-1) ?? NaN];
  console.log(
    `broker ${kind}: ${outcome.kills} SIGKILLs, ${outcome.acknowledged} readings acknowledged, ` +
      `${outcome.missing} missing, ${outcome.twice} twice, ${outcome.files} run file, integrity ` +
      `${outcome.integrity}; back on the air in ${(median / 1_000).toFixed(1)} s (median), ` +
      `${(slowest / 1_000).toFixed(1)} s (slowest; aim: under 5)`,
  );
  failed ||= outcome.missing > 0 || outcome.twice > 0 || outcome.integrity !== 'ok';
}
process.exit(failed ? 1 : 0);
