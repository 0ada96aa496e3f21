/**
 * The scorecard: plays held-out runs of the plant against the gateway's core and prints how well troubles were named.
 *
 * In: arguments (see HELP). Out: tables, `--json` the same figures with every run. Exit code 0 whatever the figures
 * are, 2 for arguments that cannot be. Every row is a seed; a seed gives the same run on every machine.
 */
import { fork } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { playMany } from '../contradictions/long.ts';
import { CLASSES } from './classes.ts';
import { rowsOf, wholeOf } from './figures.ts';
import { LAY_NAMES } from './lays.ts';
import { distributionOf, prioritiesText, SCENARIOS } from './priorities.ts';
import { repairsText } from './repair-report.ts';
import { repairPlanOf, runRepair, type RepairOutcome, type RepairPlan } from './repair-trial.ts';
import { missesText, tableText, wholeText } from './report.ts';
import { HELD_OUT_FROM, planOf, QUIET, runTrial, TUNING_FROM, type Outcome, type Plan } from './trial.ts';

const RUNS = 600;
const WORKERS = 2;
/** No threshold was set on it. */
const PRIORITIES_SEED = 9_831;

const HELP = `The scorecard: how well the gateway names what the simulated plant has wrong.

  npm run score [-- options]

  --runs N      so many runs (${RUNS})
  --class NAME  only this class: ${CLASSES.map(({ name }) => name).join(', ')}
  --site NAME   only this lay: ${LAY_NAMES.join(', ')}
  --fast        only the condition that the aims are stated for: 1 Hz, calibrated
  --quiet HOURS nothing is wrong for so many hours a run: throttle, gates, cycling, refuelling, starts, tenders, wind,
                gateway restarts; prints every false alarm with what was done before it
  --gauges SET  other gauges than the aims are stated for: 'box=10' or 'all=30' (seconds between readings),
                'without=flow,speed', 'silent=ends' (from before the trouble); calibrated, all else once a second
  --repairs N   instead, N troubles that are named and then repaired, at once or over up to half a minute: were their
                own words kept while they ended, was anything flagged because they ended
  --contradictions [N [FROM]]
                instead, N plays of random troubles, each second held against the rules on what may not be said together
  --misses      also lists the runs that were missed, misnamed or falsely alarmed, with their seeds
  --tune        seeds of the tuning set instead of the held-out one
  --from N      starts at this seed of the set, so that a long scorecard can be played in parts
  --priorities HOURS  so many hours of each bundled scenario: how its alarms fall by priority, against 80 / 15 / 5
  --seed N      plays one run again (with its --quiet or --repairs) and prints what was true and what was said
  --json FILE   writes figures and every run
`;

class Wrong extends Error {}

function number(name: string, text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1) throw new Wrong(`--${name} ${text}: give a whole number from 1 up.`);
  return value;
}

function hours(text: string | undefined, option = 'quiet'): number | null {
  if (text === undefined) return null;
  const value = Number(text);
  if (!(value >= 0.5 && value <= 24)) throw new Wrong(`--${option} ${text}: give hours from 0.5 to 24.`);
  return Math.round(3_600 * value);
}

/** The first `count` seeds of the set that fit. */
function plans<Planned>(
  count: number,
  from: number,
  of: (seed: number) => Planned,
  fits: (plan: Planned) => boolean,
): Planned[] {
  const out: Planned[] = [];
  for (let seed = from; out.length < count; seed += 1) {
    const plan = of(seed);
    if (fits(plan)) out.push(plan);
  }
  return out;
}

/** Outcomes in the order of their seeds, and what the workers used, seconds of a processor. */
async function play<Played extends { readonly plan: Plan | RepairPlan }>(
  all: readonly Played['plan'][],
  tell: (done: number) => void,
): Promise<{ readonly outcomes: Played[]; readonly cpuS: number }> {
  // The dear ones first, so that no worker is left with one at the end.
  const waiting = [...all].sort((a, b) => LAY_NAMES.indexOf(a.site) - LAY_NAMES.indexOf(b.site) || a.seed - b.seed);
  const outcomes: Played[] = [];
  let done = 0;
  let cpuS = 0;
  await Promise.all(
    Array.from(
      { length: Math.min(WORKERS, all.length) },
      () =>
        new Promise<void>((finish, fail) => {
          const worker = fork('tests/score/worker.ts', { execArgv: ['--import', 'tsx'] });
          const next = (): void => {
            const plan = waiting.pop();
            if (plan) worker.send(plan);
            else {
              worker.disconnect();
              finish();
            }
          };
          worker.on('message', ({ outcome, usedS }: { readonly outcome: Played | null; readonly usedS: number }) => {
            cpuS += usedS;
            if (outcome) outcomes.push(outcome);
            done += 1;
            tell(done);
            next();
          });
          worker.on('exit', (code) =>
            code === 0 || code === null
              ? finish()
              : fail(new Error('A worker of the scorecard failed; its message stands above.')),
          );
          next();
        }),
    ),
  );
  return { outcomes: outcomes.sort((a, b) => a.plan.seed - b.plan.seed), cpuS };
}

/** A day of each scenario takes minutes. */
function priorities(hoursEach: number): void {
  console.log(`Priorities of alarms, SIMULATED: ${hoursEach} h of each bundled scenario`);
  const rows = SCENARIOS.map((scenario) => {
    const row = distributionOf(scenario, hoursEach, PRIORITIES_SEED);
    process.stderr.write(`${scenario}: ${JSON.stringify(row.byPriority)}, ${row.worstHour} in the worst hour\n`);
    return row;
  });
  console.log(prioritiesText(rows, true));
}

function replayRepair(seed: number): void {
  const plan = repairPlanOf(seed);
  console.log(
    `seed ${seed}: ${plan.className} at ${plan.site}, stands ${plan.standsS} s, repaired over ${plan.overS} s`,
  );
  const outcome = runRepair(plan);
  if (!outcome) return console.log('This lay cannot have this trouble, or took no baseline.');
  const { timeline, ...rest } = outcome;
  console.log(`${timeline.join('\n')}\n${JSON.stringify(rest, null, 2)}`);
}

async function playRepairs(
  count: number,
  from: number,
  json: string | undefined,
  fits: (plan: RepairPlan) => boolean,
): Promise<void> {
  const all = plans(count, from, repairPlanOf, fits);
  console.log(`wetdown, repairs, SIMULATED: ${all.length} runs, seeds from ${from}`);
  const { outcomes } = await play<RepairOutcome>(all, (done) => {
    if (done % 50 === 0) process.stderr.write(`${done} of ${all.length}\n`);
  });
  console.log(repairsText(outcomes));
  if (json !== undefined) writeFileSync(json, JSON.stringify({ simulated: true, from, runs: outcomes }, null, 1));
}

function replay(seed: number, quietS: number | null, gauges: string | undefined): void {
  const plan = planOf(seed, quietS, gauges);
  console.log(
    `seed ${seed}: ${plan.className} at ${plan.site}, ` +
      `${plan.cadence === 'fast' ? '1 Hz' : 'line ends every 10-60 s'}, ` +
      `${plan.calibrated ? 'calibrated' : 'not calibrated'}`,
  );
  const outcome = runTrial(plan);
  if (!outcome) return console.log('This lay cannot have this trouble.');
  const { timeline, ...rest } = outcome;
  console.log(timeline.join('\n'));
  console.log(JSON.stringify(rest, null, 2));
}

async function main(): Promise<void> {
  if (process.argv[2] === '--contradictions') return playMany(process.argv.slice(3));
  let values;
  try {
    ({ values } = parseArgs({
      options: {
        runs: { type: 'string' },
        class: { type: 'string' },
        site: { type: 'string' },
        seed: { type: 'string' },
        gauges: { type: 'string' },
        from: { type: 'string' },
        json: { type: 'string' },
        quiet: { type: 'string' },
        repairs: { type: 'string' },
        tune: { type: 'boolean' },
        misses: { type: 'boolean' },
        priorities: { type: 'string' },
        fast: { type: 'boolean' },
        help: { type: 'boolean' },
      },
    }));
  } catch (error) {
    throw new Wrong(`${error instanceof Error ? error.message.split('.')[0] : String(error)}. See --help.`);
  }
  if (values.help) return console.log(HELP);
  if (values.priorities !== undefined) return priorities(hours(values.priorities, 'priorities')! / 3_600);
  const quietS = hours(values.quiet);
  const repairs = values.repairs === undefined ? null : number('repairs', values.repairs);
  if (values.seed !== undefined) {
    const seed = number('seed', values.seed);
    return repairs === null ? replay(seed, quietS, values.gauges) : replayRepair(seed);
  }
  const { class: className, site } = values;
  if (quietS !== null && className !== undefined && className !== QUIET)
    throw new Wrong(`--quiet plays '${QUIET}' and no other class.`);
  if (className !== undefined && !CLASSES.some(({ name }) => name === className))
    throw new Wrong(`There is no class '${className}'. Classes: ${CLASSES.map(({ name }) => name).join(', ')}.`);
  if (site !== undefined && !LAY_NAMES.includes(site))
    throw new Wrong(`There is no lay '${site}'. Lays: ${LAY_NAMES.join(', ')}.`);
  const first = values.tune ? TUNING_FROM : HELD_OUT_FROM;
  const from = number('from', values.from ?? String(first));
  if (from < first || (values.tune && from >= HELD_OUT_FROM))
    throw new Wrong(`--from ${from}: not a seed of this set, which starts at ${first}.`);
  const meant = (plan: Plan | RepairPlan): boolean =>
    (className === undefined || plan.className === className) && (site === undefined || plan.site === site);
  if (repairs !== null) return playRepairs(repairs, from, values.json, meant);
  const all = plans(
    number('runs', values.runs ?? String(RUNS)),
    from,
    (seed) => planOf(seed, quietS, values.gauges),
    (plan) => meant(plan) && (!values.fast || (plan.cadence === 'fast' && plan.calibrated)),
  );
  console.log(
    `wetdown scorecard, SIMULATED: ${all.length} runs of the ${values.tune ? 'TUNING' : 'held-out'} ` +
      `set, seeds from ${from}`,
  );
  const { outcomes, cpuS } = await play<Outcome>(all, (done) => {
    if (done % 50 === 0) process.stderr.write(`${done} of ${all.length}\n`);
  });
  show(outcomes);
  const played = outcomes.reduce((sum, { watchedS }) => sum + watchedS, 0) / 3_600;
  process.stderr.write(
    `${played.toFixed(1)} simulated hours, ${((60 * played) / cpuS).toFixed(1)} a minute of one processor\n`,
  );
  if (values.misses) console.log(`\n${missesText(outcomes)}`);
  if (values.json !== undefined)
    writeFileSync(
      values.json,
      JSON.stringify(
        {
          simulated: true,
          set: values.tune ? 'tuning' : 'held-out',
          from,
          rows: rowsOf(outcomes.filter(isAimed)),
          whole: wholeOf(outcomes),
          runs: outcomes,
        },
        null,
        1,
      ),
    );
}

function isAimed({ plan }: Outcome): boolean {
  return plan.cadence === 'fast' && plan.calibrated;
}

function show(outcomes: readonly Outcome[]): void {
  const parts: readonly (readonly [string, (outcome: Outcome) => boolean])[] = [
    [
      '1 Hz, calibrated, one fault, normal life around it (aim in brackets; * misses it, - may be ' +
        'luck, ! pump sensors and one pressure a line end cannot show it so soon)',
      isAimed,
    ],
    ['Line ends every 10-60 s, calibrated', ({ plan }) => plan.cadence === 'slow'],
    ['1 Hz, not calibrated', ({ plan }) => plan.cadence === 'fast' && !plan.calibrated],
  ];
  for (const [title, belongs] of parts) {
    const rows = rowsOf(outcomes.filter(belongs));
    if (rows.length > 0)
      console.log(`\n${tableText(title, belongs === isAimed ? rows : rows.map((row) => ({ ...row, aim: null })))}`);
  }
  if (outcomes.length > 0) console.log(`\n${wholeText(wholeOf(outcomes))}`);
}

main().catch((error: unknown) => {
  console.error(error instanceof Error ? (error instanceof Wrong ? error.message : error.stack) : String(error));
  process.exit(2);
});
