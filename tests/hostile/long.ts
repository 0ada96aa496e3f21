/**
 * `npm run hostile [-- COUNT]`: the long siege, 1,000,000 packets unless told otherwise; prints what became of them,
 * ends with 1 on any harm.
 */
import { siege } from './siege.ts';

const HEAP_GROWTH_MAX_MB = 50;
const count = Number(process.argv[2] ?? 1_000_000);
const outcome = siege(count, 9_001);
const counted = [...outcome.verdicts.values()].reduce((sum, each) => sum + each, 0);
const say = (words: string): void => void process.stdout.write(`${words}\n`);
for (const [verdict, number] of [...outcome.verdicts].sort((one, other) => other[1] - one[1]).slice(0, 25))
  say(`${String(number).padStart(9)}  ${verdict}`);
say(
  `sent ${outcome.sent}, journalled or counted ${counted}, ${Math.round(outcome.packetsPerS)} a second ` +
    `taken, ${outcome.verdicts.size} verdicts`,
);
say(`numbers believed: ${outcome.believed}`);
say(
  `pictures ${outcome.pictures}, first that differed: ` +
    `${outcome.differedAtS === null ? 'none' : `second ${outcome.differedAtS}`}`,
);
say(
  `heap grew ${outcome.heapGrowthMB.toFixed(1)} MB (at most ${HEAP_GROWTH_MAX_MB}); journal ` +
    `${outcome.journalMB.toFixed(0)} MB`,
);
process.exit(
  counted === count &&
    outcome.believed === 0 &&
    outcome.differedAtS === null &&
    outcome.heapGrowthMB < HEAP_GROWTH_MAX_MB
    ? 0
    : 1,
);
