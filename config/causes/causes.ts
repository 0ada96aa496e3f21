/**
 * Every cause that the diagnosis can name, one row each, and the lists that are made of the rows.
 *
 * What can never be named here is in BLIND_SPOTS (states/blind-spots.ts). No hazard to people is ever held back (a test
 * checks it). A mode ends by itself, and then what still stands is flagged.
 */
import { MODES, type Mode } from '../modes.ts';
import { LAY_CAUSES } from './lay.ts';
import { PUMP_CAUSES } from './pump.ts';
import { READING_CAUSES } from './readings.ts';
import type { CauseRow } from './row.ts';
import { SUPPLY_CAUSES } from './supply.ts';

const ROWS = { ...LAY_CAUSES, ...PUMP_CAUSES, ...SUPPLY_CAUSES, ...READING_CAUSES };

/** One cause the diagnosis can name. */
export type Cause = keyof typeof ROWS;

export const CAUSES: Readonly<Record<Cause, CauseRow>> = ROWS;

/** In the order in which lists on screens name them. */
export const CAUSE_IDS = Object.keys(ROWS) as readonly Cause[];

type CausesWith<Field extends keyof CauseRow, Value> = {
  [Each in Cause]: (typeof ROWS)[Each][Field] extends Value ? Each : never;
}[Cause];

function causesWith<Each extends Cause>(fits: (row: CauseRow) => boolean): readonly Each[] {
  return CAUSE_IDS.filter((cause): cause is Each => fits(CAUSES[cause]));
}

/** Which causes are held back while people say that something is going on. */
export const HELD_BACK = Object.fromEntries(
  MODES.map((mode) => [mode, causesWith(({ heldBackBy }) => heldBackBy.includes(mode))]),
) as unknown as Readonly<Record<Mode, readonly Cause[]>>;

/** At one subject these are one trouble; of a cause without a family, itself alone. */
export function familyOf(cause: Cause): readonly Cause[] {
  const { family } = CAUSES[cause];
  return family === null ? [cause] : causesWith((row) => row.family === family);
}

/** What a look at one head, hose or gate can find. */
export type Sight = 'nothing-wrong' | CausesWith<'sight', object>;
type CauseSight = Exclude<Sight, 'nothing-wrong'>;

const causeSights = causesWith<CauseSight>(({ sight }) => sight !== null);
export const SIGHTS: readonly Sight[] = ['nothing-wrong', ...causeSights];

export const SIGHT_WORDS: readonly (readonly [Sight, string])[] = [
  ['nothing-wrong', 'Nothing wrong there'],
  ...causeSights.map((cause) => [cause, CAUSES[cause].sight!.words] as const),
];

/** Found on site, and no cause that anything here could name. */
const FOUND_BESIDES = {
  'head-slipped': 'Head slipped, still sprays',
  'wrong-arc': 'Head waters the wrong side',
  'other-unseen': 'Something no gauge could show',
} as const;

type CauseFind = CausesWith<'find', object>;
export type Find = CauseFind | 'sensor-wrong' | keyof typeof FOUND_BESIDES;

const foundBy = (by: 'gauges' | 'eyes'): readonly CauseFind[] =>
  causesWith<CauseFind>(({ find }) => typeof find === 'object' && find?.seenBy === by);

/** What a crew can find on site, and of it what pressure and flow can show, and what they cannot. */
export const FINDS_BY_GAUGES: readonly Find[] = [...foundBy('gauges'), 'sensor-wrong'];
export const FINDS_BY_EYES: readonly Find[] = [
  ...foundBy('eyes'),
  ...(Object.keys(FOUND_BESIDES) as (keyof typeof FOUND_BESIDES)[]),
];
export const FINDS: readonly Find[] = [...FINDS_BY_GAUGES, ...FINDS_BY_EYES];

/** As a crew says it. */
export function findWords(find: Find): string {
  if (find === 'sensor-wrong') return 'Sensor wrong or silent';
  if (find in FOUND_BESIDES) return FOUND_BESIDES[find as keyof typeof FOUND_BESIDES];
  const told = CAUSES[find as CauseFind].find;
  return typeof told === 'object' && told !== null ? told.words : find;
}

/** The causes that a find is rightly named by: those that say the same of the readings. */
export function causesOfFind(find: Find): readonly Cause[] {
  if (find === 'sensor-wrong') return causesWith((row) => row.find === 'sensor-wrong');
  return find in FOUND_BESIDES ? [] : familyOf(find as CauseFind);
}
