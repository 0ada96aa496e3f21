/**
 * What goes on at a site where nothing is wrong, for as long as it is watched: one chore after the other, each with its
 * quarter of an hour, tenders in turns, wind that changes; and how the run begins.
 *
 * In: layout, dice, span. Out: chores with their second, in order. Everything that changes the water is told to the
 * gateway as a crew would; that a start is told as 'filling' only half the time, since the gateway sees it by itself.
 * Judgement: how often each, and how long. No false alarm can be right here but those that true-warnings.ts knows.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Mode } from '../../config/modes.ts';
import type { SeededRandom } from '../../simulator/seeded-random.ts';
import { battery, done, throttled, told, turned, usedLitres, wind, type Chore, type ChoreKind } from './normal-life.ts';

const BLOCK_S = 900;
const LEAST_BLOCK_S = 600;
const WIND_CHANGES_S = 1_800;
/** Share of a can that may be used before it is filled up. */
const FUEL_SHARE = 0.4;
/**
 * One chore a block, each as often as it stands here. A restart is seldom, because it plays up to two hours once more.
 */
const TURN: readonly ChoreKind[] = [
  'throttle',
  'throttle',
  'throttle',
  'gating',
  'gating',
  'gating',
  'cycling',
  'cycling',
  'cycling',
  'slow start',
  'slow start',
  'fast start',
  'fast start',
  'refuelling',
  'battery',
  'gateway restart',
];

/** How a run begins: in full swing, or dry; a dry lay is filled slowly in steps or all at once. */
export type Beginning = 'running' | 'slow fill' | 'fast fill';
/** When a dry lay is up at the latest. */
export const FILLED_S = 420;

export function beginningOf(dice: SeededRandom): Beginning {
  const drawn = dice.uniform();
  return drawn < 0.5 ? 'running' : drawn < 0.75 ? 'slow fill' : 'fast fill';
}

export function filling(layout: Layout, beginning: Beginning, throttle: number, dice: SeededRandom): Chore[] {
  if (beginning === 'running') return [];
  const steps: readonly (readonly [number, number])[] =
    beginning === 'fast fill'
      ? [[3, throttle]]
      : [
          [3, 0.6],
          [240, 0.75],
          [270, throttle],
        ];
  return [
    ...sometimesTold(2, beginning, FILLED_S, dice),
    ...steps.map(([atS, size]) => throttled(layout, atS, size, beginning)),
  ];
}

export function quietLife(layout: Layout, dice: SeededRandom, fromS: number, toS: number): Chore[] {
  const source = layout.sources[0]!;
  const [{ fuelCapacityM3, kit }] = [layout.pumps[0]!];
  const chores: Chore[] = [done(fromS, 'cooling', 'night cools', 'cooling', null, dice.between(0, 15))];
  if (source.shape.kind !== 'open-water')
    chores.push(
      done(fromS, 'tender', 'tenders in turns', 'shuttle', source.id, usedLitres(layout) * dice.between(2, 5)),
    );
  for (let atS = fromS; atS < toS; atS += WIND_CHANGES_S) chores.push(...wind(atS, dice));
  let filledS = 0;
  for (let atS = fromS; atS + LEAST_BLOCK_S <= toS; atS += BLOCK_S) {
    const thirsty = (atS + BLOCK_S - filledS) * kit.fuelUseM3s > FUEL_SHARE * fuelCapacityM3;
    const kind = thirsty ? 'refuelling' : TURN[Math.floor(dice.uniform() * TURN.length)]!;
    if (kind === 'refuelling') filledS = atS;
    chores.push(...block(layout, kind, atS, dice));
  }
  return chores.sort((a, b) => a.atS - b.atS);
}

/** All of it within LEAST_BLOCK_S. */
function block(layout: Layout, kind: ChoreKind, fromS: number, dice: SeededRandom): Chore[] {
  const between = (least: number, most: number): number => Math.floor(dice.between(least, most));
  const atS = fromS + between(20, 90);
  const throttle = (second: number): Chore => throttled(layout, second, dice.between(0.85, 1.02));
  switch (kind) {
    case 'throttle':
      return [throttle(atS), throttle(atS + between(60, 240)), throttle(atS + between(260, 400))];
    case 'gating':
      return inTurn(layout, kind, 1, atS, between(60, 240), dice);
    case 'cycling':
      return inTurn(layout, kind, 3, atS, between(90, 150), dice);
    case 'refuelling':
      return [
        mode(atS - 5, kind, 'refuelling', 5),
        done(atS, kind, 'engine stopped and filled up', 'refuel', layout.pumps[0]!.id),
      ];
    case 'battery':
      return battery(layout, atS, dice, []);
    case 'gateway restart':
      return [{ atS, kind, words: 'gateway stopped', deed: null, entry: null, awayS: between(5, 120) }];
    default:
      return stopAndStart(layout, kind, atS, atS + between(60, 240), dice);
  }
}

/**
 * So many lines in turn: the next one rests as soon as the one before it runs again. Half of the longer rounds are told
 * as such.
 */
function inTurn(
  layout: Layout,
  kind: ChoreKind,
  most: number,
  fromS: number,
  restS: number,
  dice: SeededRandom,
): Chore[] {
  const gates = layout.gates.filter(({ line }) => line !== null);
  // With two lines, one that rests takes half of the water away: no crew does.
  if (gates.length < 3) return [];
  const first = Math.floor(dice.uniform() * gates.length);
  const round = Array.from(
    { length: Math.min(most, gates.length) },
    (_, index) => gates[(first + index) % gates.length]!,
  );
  const declared =
    most > 1 && dice.uniform() < 0.5
      ? [mode(fromS - 5, kind, 'cycling', Math.ceil((round.length * restS) / 60) + 1)]
      : [];
  return [
    ...declared,
    ...round.flatMap((gate, index) => {
      const shutS = fromS + index * restS;
      return [
        ...turned(gate, shutS, 0, kind, 0, dice),
        ...turned(gate, shutS + restS - 8, gate.opening, kind, 0, dice),
      ];
    }),
  ];
}

/** The engine is stopped by order and started again: in steps, or all at once. */
function stopAndStart(layout: Layout, kind: ChoreKind, stopS: number, startS: number, dice: SeededRandom): Chore[] {
  const last = dice.between(0.88, 1.02);
  const steps: readonly number[] = kind === 'fast start' ? [last] : [0.5, 0.65, 0.8, last];
  return [
    mode(stopS - 5, kind, 'draining', 30),
    throttled(layout, stopS, 0, kind),
    told(startS - 3, kind, 'stop is over', { kind: 'mode', by: 'AB', mode: null, minutes: 0 }),
    ...sometimesTold(startS - 2, kind, 180, dice),
    ...steps.map((size, index) => throttled(layout, startS + 20 * index, size, kind)),
  ];
}

function sometimesTold(atS: number, kind: ChoreKind, lastsS: number, dice: SeededRandom): Chore[] {
  return dice.uniform() < 0.5 ? [mode(atS, kind, 'filling', lastsS / 60)] : [];
}

function mode(atS: number, kind: ChoreKind, name: Mode, minutes: number): Chore {
  return told(atS, kind, `${name} told`, { kind: 'mode', by: 'AB', mode: name, minutes });
}
