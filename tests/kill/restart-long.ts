/**
 * `npm run restarts [-- SEED [KILLS]]`: five hours with troubles, killed at random moments in the last three, and how
 * far what was counted over the run is then from a core that was never interrupted.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { differences, LongRun, troubledRun } from '../support/long-run.ts';

const [seed, kills] = [Number(process.argv[2] ?? 9_141), Number(process.argv[3] ?? 6)];
const plan = {
  ...troubledRun(7.5),
  deeds: { 10: { do: 'start', what: 'shuttle', at: 'tank' }, ...troubledRun(7.5).deeds },
} as const;
const AFTER_S = 60;
const FIRST_S = 2.1 * 3_600;
const killedAtS = Array.from({ length: kills }, (_, kill) =>
  Math.floor(FIRST_S + ((plan.seconds - AFTER_S - FIRST_S) * (kill + ((seed * (kill + 7) * 0.618) % 1))) / kills),
);
const folder = mkdtempSync(join(tmpdir(), 'wetdown-restarts-'));
const long = new LongRun(folder, { ...plan, seed, killedAtS });
let wrong = 0;
for (const second of killedAtS) {
  const site = long.goOn(second);
  long.feed(site, second, second + AFTER_S);
  const then = long.shownAt(second + AFTER_S);
  const found = [1e-9, 1e-4, 1e-3].map((share) => differences(then, site.picture!, share).length);
  for (const words of differences(then, site.picture!, 1e-3)) console.log(`  ${words.slice(0, 200)}`);
  wrong += found[2]!;
  console.log(
    `killed after ${(second / 3_600).toFixed(2)} h, ${then.alarms.length} alarms on the list: figures ` +
      `off by more than 1e-9 of themselves ${found[0]}, 1e-4 ${found[1]}, 1e-3 ${found[2]}`,
  );
  site.loop.close();
}
rmSync(folder, { recursive: true });
process.exit(wrong > 0 ? 1 : 0);
