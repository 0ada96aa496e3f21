/**
 * The limits that everything on a screen is held against, in one place: live view, What if and Pre-flight use these.
 *
 * Heads: the pressures between which the kit turns, and what it survives, Pa, with a dead band for a head that was
 * outside a moment ago. Pumps: flow that counts as none, suction head that counts as ample. Water: time left that
 * counts as low, s. In: figures in SI. Out: verdicts; words are for others to find.
 */
import type { Head } from '../../../config/layout/layout.ts';
import type { HeadPicture } from '../../../config/wire/wire.ts';

/** Judgement: cool open water, still in summer; ten degrees more or less move the suction head by 0.2 m. */
export const WATER_C = 20;

/** Judgement: less than this share of a pump's greatest flow is next to none: it heats the water it holds. */
export const NO_FLOW_SHARE = 0.03;

/** Judgement: warn at 20 min of water, or at twice what a refill takes; clear at a quarter more. */
const WATER_LOW_S = 1_200;
const LOW_REFILLS = 2;
const CLEAR_SHARE = 1.25;

export function isWaterLow(leftS: number, refillS: number, was: boolean): boolean {
  const warnS = Math.max(WATER_LOW_S, LOW_REFILLS * refillS);
  return leftS < (was ? CLEAR_SHARE * warnS : warnS);
}

export type HeadStanding = 'no-water' | 'too-weak' | 'turns' | 'too-strong' | 'breaks';

/** Judgement: a head that was outside its range is so until it is this share inside again. */
const DEAD_BAND = 0.03;

/** Where a pressure stands against what the head needs and survives; `was`: where it stood a moment ago. */
export function standingOf({ kit }: Pick<Head, 'kit'>, pressurePa: number, was?: HeadStanding): HeadStanding {
  const { turnPaMin, turnPaMax, survivesPa } = kit;
  const under = was === 'too-weak' || was === 'no-water' ? 1 + DEAD_BAND : 1;
  const over = was === 'too-strong' || was === 'breaks' ? 1 - DEAD_BAND : 1;
  const past = was === 'breaks' ? 1 - DEAD_BAND : 1;
  if (!(pressurePa > 0)) return 'no-water';
  if (pressurePa < under * turnPaMin) return 'too-weak';
  if (pressurePa > past * survivesPa) return 'breaks';
  return pressurePa > over * turnPaMax ? 'too-strong' : 'turns';
}

/**
 * Whether the water of a head counts as wetting: not while it is under turning pressure, where it falls at the head,
 * and not while it may be off or plugged.
 */
export function spreads(state: HeadPicture['state']): boolean {
  return state === 'flowing' || state === 'above-range' || state === 'over-pressure';
}
