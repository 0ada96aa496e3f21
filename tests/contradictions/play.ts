/**
 * Plays random pairs of troubles, repairs, missing gauges, gates, throttle and modes against the core, and holds every
 * second of it against the rules.
 *
 * In: seed. Out: contradictions, each with the second and the rule. A seed gives the same on every machine.
 */
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { EVENT_KINDS } from '../../simulator/faults/faults.ts';
import { MODES } from '../../config/modes.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { Drive, siteLayout } from '../support/drive.ts';
import { LINE_RULES, type Rule } from './line-rules.ts';
import { PUMP_RULES } from './pump-rules.ts';
import { saidOf } from './said.ts';
import { STRUCTURE_RULES } from './structure-rules.ts';

export const RULES: readonly Rule[] = [...LINE_RULES, ...STRUCTURE_RULES, ...PUMP_RULES];

/** Mill Lane draws from a hydrant, for which the plant has no physics. */
const SITES = ['larch-cove', 'larch-cove', 'quarry-road'] as const;
const TROUBLES = [
  'head-off',
  'plug',
  'feeder-kinked',
  'leak',
  'hose-burst',
  'restriction',
  'gate-shut',
  'pump-fade',
  'pump-worn',
  'pump-stop',
  'dead-head',
  'suction-trouble',
  'suction-air-leak',
  'strainer-clogging',
  'tank-leak',
  'theft',
] as const;
const GAUGES = ['sensor-silent', 'sensor-silent', 'sensor-stuck', 'sensor-drift'] as const;
const BEFORE_S = 100;

export interface Contradiction {
  readonly seed: number;
  readonly second: number;
  readonly never: string;
  readonly where: string;
  readonly after: string;
}

export function play(seed: number, seconds: number): Contradiction[] {
  const dice = SeededRandom.named(seed, 'contradictions');
  const among = <T>(list: readonly T[]): T => list[Math.floor(dice.uniform() * list.length)]!;
  const layout = siteLayout(among(SITES));
  const drive = new Drive(layout, { seed, scenario: dice.uniform() < 0.85 ? 'running' : 'evening' });
  const out: Contradiction[] = [];
  const told: string[] = [];
  let before: Picture | null = null;
  let walked: number[] | null = null;
  const watch = (many: number): void => {
    for (let second = 0; second < many; second += 1) {
      const picture = drive.second();
      const said = saidOf(layout, picture, before, walked);
      before = picture;
      for (const { never, broken } of RULES)
        for (const where of broken(said))
          out.push({ seed, second: (picture.atMs - START) / 1_000, never, where, after: told.slice(-4).join(', ') });
    }
  };
  const START = drive.simulation.nowMs;
  const enter = (entry: Parameters<Drive['watch']['enter']>[0]): string | null =>
    drive.watch.enter(entry, drive.simulation.nowMs + 950);
  watch(BEFORE_S);
  if (dice.uniform() < 0.7 && drive.baseline() === null) walked = drive.picture.gates.map(({ opening }) => opening);

  const placesOf = (what: string): readonly { readonly id: string }[] =>
    ({
      head: layout.heads,
      hose: layout.hoses,
      gate: layout.gates,
      pump: layout.pumps,
      source: layout.sources,
      sensor: layout.sensors.filter(({ quantity }) => ['pressure', 'flow', 'rotation', 'level'].includes(quantity)),
      line: layout.lines,
      place: layout.places,
      site: [],
    })[EVENT_KINDS[what]!.at];
  const standing: { what: string; at: string }[] = [];
  const start = (what: string): void => {
    const places = placesOf(what);
    if (places.length === 0) return;
    const at = among(places).id;
    const refusal = drive.simulation.carry({ do: 'start', what, at });
    if (refusal !== null) return;
    standing.push({ what, at });
    told.push(`${what} ${at}`);
  };
  const end = drive.simulation.nowMs + 1_000 * seconds;
  while (drive.simulation.nowMs < end) {
    const what = dice.uniform();
    if (what < 0.3) start(among(TROUBLES));
    else if (what < 0.45) start(among(GAUGES));
    else if (what < 0.7 && standing.length > 0) {
      const [one] = standing.splice(Math.floor(dice.uniform() * standing.length), 1);
      drive.simulation.carry({ do: 'repair', ...one! });
      told.push(`repaired ${one!.what} ${one!.at}`);
    } else if (what < 0.82 && layout.gates.length > 0) {
      const gate = among(layout.gates).id;
      const opening = dice.uniform() < 0.5 ? 0 : 1;
      enter({ kind: 'gate', by: 'AB', gate, opening });
      if (dice.uniform() < 0.85) drive.simulation.carry({ do: 'start', what: 'gate', at: gate, size: opening });
      told.push(`gate ${gate} told ${opening}`);
    } else if (what < 0.92) {
      const size = 0.55 + 0.45 * dice.uniform();
      drive.simulation.carry({ do: 'start', what: 'throttle', at: layout.pumps[0]!.id, size });
      told.push(`throttle ${size.toFixed(2)}`);
    } else {
      const mode = among([...MODES, null]);
      enter({ kind: 'mode', by: 'AB', mode, minutes: 2 });
      told.push(`mode ${mode}`);
    }
    watch(5 + Math.floor(45 * dice.uniform()));
  }
  return out;
}

/** Each rule once with its first places. */
export function summary(found: readonly Contradiction[]): string {
  return [...new Set(found.map(({ never }) => never))]
    .map((never) => {
      const all = found.filter((one) => one.never === never);
      const some = all
        .slice(0, 3)
        .map(({ seed, second, where, after }) => `    seed ${seed}, ${second} s: ${where} (after ${after})`);
      return `${all.length} x ${never}\n${some.join('\n')}`;
    })
    .join('\n');
}
