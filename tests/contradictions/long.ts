/**
 * The long form of the contradictions: `npm run score -- --contradictions [PLAYS [FIRST-SEED]]`, 100 plays of five
 * minutes unless told otherwise; prints each rule that was broken, ends with 1 if one was.
 */
import { play, RULES, summary, type Contradiction } from './play.ts';

const PLAYS = 100;
const FIRST_SEED = 20_001;
const SECONDS = 300;

export function playMany([plays, first]: readonly string[]): void {
  const from = Number(first ?? FIRST_SEED);
  const count = Number(plays ?? PLAYS);
  const found: Contradiction[] = [];
  for (let seed = from; seed < from + count; seed += 1) {
    found.push(...play(seed, SECONDS));
    process.stderr.write(`seed ${seed}: ${found.length} contradictions so far\n`);
  }
  console.log(`SIMULATED: ${count} plays of random troubles from seed ${from}, ${RULES.length} rules`);
  console.log(found.length === 0 ? 'nothing contradicts' : summary(found));
  if (found.length > 0) process.exitCode = 1;
}
