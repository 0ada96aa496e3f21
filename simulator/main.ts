/**
 * The simulator's command line: runs a site on a broker, or gives one order to a simulator that runs.
 *
 * In: arguments. Out: exit code 0, or 2 with a sentence that says what would be right.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import type { Layout } from '../config/layout/layout.ts';
import { formatFault } from '../config/layout/layout-fault.ts';
import { parseLayout } from '../config/layout/layout-parser.ts';
import { EVENT_KINDS } from './faults/faults.ts';
import { Devices, order, truthNow } from './devices.ts';
import { parseScenario, type Scenario } from './scenario.ts';
import { Simulation } from './simulation.ts';

const SCENARIOS = 'simulator/scenarios';
const OPTIONS = {
  site: { type: 'string', default: 'config/sites/larch-cove.yaml' },
  broker: { type: 'string', default: process.env['WETDOWN_BROKER'] ?? 'mqtt://127.0.0.1:1883' },
  scenario: { type: 'string', default: 'evening' },
  seed: { type: 'string', default: '1' },
  speed: { type: 'string', default: '1' },
  at: { type: 'string' },
  size: { type: 'string' },
  over: { type: 'string' },
  help: { type: 'boolean' },
} as const;

const HELP =
  `The bundled simulator: plays a site's devices over MQTT. All it sends is marked as simulated, and a ` +
  `gateway takes
it only from the simulator that it started itself, or when it was started with ` +
  `--accept-simulator.

  npm run simulator -- [run] [--site FILE] [--broker URL] [--scenario NAME|FILE] ` +
  `[--seed N] [--speed N|max]
  npm run simulator -- start WHAT [--at NAME] [--size N]     while one ` +
  `runs
  npm run simulator -- repair WHAT [--at NAME] [--over SECONDS]
  npm run simulator -- truth     ` +
  `                            what is broken now
  npm run simulator -- list                            ` +
  `      names of heads, hoses, gates, sensors of the site

  --site FILE      ` +
  `config/sites/larch-cove.yaml
  --broker URL     mqtt://127.0.0.1:1883, or what the environment has as ` +
  `WETDOWN_BROKER
  --scenario NAME  one of ${SCENARIOS}, or a file (evening)
  --seed N         which ` +
  `lay, of all that the layout file could be (1)
  --speed N|max    simulated seconds a second ` +
  `(1)

WHAT:
${Object.entries(EVENT_KINDS)
  .map(([name, kind]) => `  ${name.padEnd(18)} at a ${kind.at}: ${kind.says}`)
  .join('\n')}
`;

class Wrong extends Error {}

function readSite(file: string): Layout {
  if (!existsSync(file)) throw new Wrong(`There is no site file ${file}.`);
  const parsed = parseLayout(readFileSync(file, 'utf8'), file);
  if (!parsed.ok) throw new Wrong(parsed.faults.map(formatFault).join('\n'));
  return parsed.layout;
}

function readScenario(name: string): Scenario {
  const known = readdirSync(SCENARIOS).map((file) => file.replace(/\.yaml$/, ''));
  const file = known.includes(name) ? `${SCENARIOS}/${name}.yaml` : name;
  if (!existsSync(file)) throw new Wrong(`There is no scenario '${name}'. Known: ${known.join(', ')}; or give a file.`);
  const parsed = parseScenario(readFileSync(file, 'utf8'), file);
  if (!parsed.ok) throw new Wrong(parsed.faults.join('\n'));
  return parsed.scenario;
}

function readNumber(name: string, text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value) || value < 0)
    throw new Wrong(`--${name} ${text}: give a number from 0 up.`);
  return value;
}

async function run(
  site: string,
  broker: string,
  scenarioName: string,
  seedText: string,
  speedText: string,
): Promise<void> {
  const layout = readSite(site);
  const scenario = readScenario(scenarioName);
  const seed = readNumber('seed', seedText);
  const speed = speedText === 'max' ? null : readNumber('speed', speedText);
  if (speed === 0) throw new Wrong('--speed 0 would stand still: give a number above 0, or max.');
  const startMs = Math.floor(Date.now() / 1_000) * 1_000;
  const simulation = new Simulation(layout, { seed, startMs, scenario });
  const devices = new Devices(broker, {
    layout,
    simulation,
    scenario: scenario.name,
    seed,
    speed,
    say: (words) => console.error(`simulator: ${words}`),
  });
  let stopping = false;
  const stop = (): void => {
    if (stopping) return;
    stopping = true;
    void devices.stop().then(() => process.exit(0));
  };
  process.on('SIGINT', stop);
  process.on('SIGTERM', stop);
  process.on('disconnect', stop);
  await devices.play();
}

function list(layout: Layout): string {
  const names = (label: string, items: readonly { readonly id: string; readonly label: string }[]): string =>
    `${label}\n${items.map((item) => `  ${item.id.padEnd(18)} ${item.label}`).join('\n')}`;
  return [
    names('heads', layout.heads),
    names('hoses', layout.hoses),
    names('gates', layout.gates),
    names('sensors', layout.sensors),
    names('pumps', layout.pumps),
    names('sources', layout.sources),
  ].join('\n');
}

async function main(): Promise<void> {
  let parsed;
  try {
    parsed = parseArgs({ options: OPTIONS, allowPositionals: true });
  } catch (error) {
    throw new Wrong(`${error instanceof Error ? error.message.split('.')[0] : String(error)}. See --help.`);
  }
  const { values, positionals } = parsed;
  const [verb = 'run', what, ...rest] = positionals;
  if (values.help) return console.log(HELP);
  if (rest.length > 0) throw new Wrong(`'${rest.join(' ')}' is too much. See --help.`);
  if (verb === 'run') return run(values.site, values.broker, values.scenario, values.seed, values.speed);
  const layout = readSite(values.site);
  if (verb === 'list') return console.log(list(layout));
  if (verb !== 'start' && verb !== 'repair' && verb !== 'truth')
    throw new Wrong(`'${verb}' cannot be done: run, start, repair, truth or list.`);
  if (verb !== 'truth' && what === undefined)
    throw new Wrong(`Say what to ${verb}: ${Object.keys(EVENT_KINDS).join(', ')}.`);
  const answer =
    verb === 'truth'
      ? await truthNow(values.broker, layout.site)
      : await order(values.broker, layout.site, {
          do: verb,
          what: what!,
          ...(values.at === undefined ? {} : { at: values.at }),
          ...(values.size === undefined ? {} : { size: readNumber('size', values.size) }),
          ...(values.over === undefined ? {} : { overS: readNumber('over', values.over) }),
        });
  if (!answer.ok) throw new Wrong(answer.words);
  console.log(answer.words);
}

main().catch((error: unknown) => {
  console.error(
    error instanceof Error
      ? error instanceof Wrong || error instanceof RangeError
        ? error.message
        : error.stack
      : String(error),
  );
  process.exit(2);
});
