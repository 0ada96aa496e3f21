/**
 * What a topic that nobody hears was probably meant to be.
 *
 * In: a topic as it was published, and what would be right here: the site, its devices, the two kinds of message. Out:
 * the nearest right topic, or null when none is near; and whether the topic belongs to another site of the same broker.
 * Method: the levels that were sent are laid against the four that are wanted, each put in, left out or misspelt (edit
 * distance), for the least cost. Limit: nearness of letters only.
 */
import { editDistance } from '../../../config/spelling.ts';

export interface RightTopics {
  readonly site: string;
  readonly devices: readonly string[];
}

const ROOT = 'wetdown';
const LEAVES = ['senml', 'status'];
/** Judgement: beyond these, nothing of what was sent points here. More levels and letters than these are no slip. */
const LEVEL_COST = 0.6;
const COST_MAX = 1.5;
const NEAR = 0.34;
const LEVELS_MAX = 12;
const LETTERS_MAX = 64;
/** A device may have any name. */
const STRANGER_COST = 0.5;

interface Fit {
  readonly cost: number;
  readonly levels: readonly string[];
}

/** `account`: the device that sent it, where that is known. */
export function nearestTopic(topic: string, { site, devices }: RightTopics, account: string | null): string | null {
  const sent = topic.split('/').filter((level) => level !== '');
  if (sent.length > LEVELS_MAX || sent.some((level) => level.length > LETTERS_MAX)) return null;
  const slots: readonly ((level: string) => Fit)[] = [
    (level) => nearest(level, [ROOT]),
    (level) => nearest(level, [site]),
    (level) => deviceFor(level, devices),
    (level) => nearest(level, LEAVES),
  ];
  const missing = [ROOT, site, account ?? (devices.length === 1 ? devices[0]! : 'DEVICE'), LEAVES[0]!];
  // Least cost of laying the first levels against the first slots.
  let row: Fit[] = Array.from({ length: sent.length + 1 }, (_, count) => ({ cost: LEVEL_COST * count, levels: [] }));
  for (const [index, fit] of slots.entries()) {
    const next: Fit[] = [then(row[0]!, LEVEL_COST, [missing[index]!])];
    for (const [at, level] of sent.entries()) {
      const { cost, levels } = fit(level);
      next.push(
        least([
          then(row[at]!, cost, levels),
          then(row[at + 1]!, LEVEL_COST, [missing[index]!]),
          then(next[at]!, LEVEL_COST, []),
        ]),
      );
    }
    row = next;
  }
  const best = row.at(-1)!;
  if (best.cost > COST_MAX) return null;
  const meant = account === null ? best.levels : best.levels.with(2, account);
  const hint = meant.join('/');
  return hint === topic ? null : hint;
}

/**
 * Whether a topic on a broker of many sites is none of ours. Not if its site is ours misspelt: in another case, with
 * other hyphens; or by a letter, where one of our devices speaks there that was never heard here (`isHeard`).
 */
export function isOfAnotherSite(topic: string, right: RightTopics, isHeard: (device: string) => boolean): boolean {
  const [root, site = '', device = '', ...leaves] = topic.split('/');
  if (root !== ROOT) return true;
  if (site === right.site) return false;
  if (plain(site) === plain(right.site)) return false;
  const isUnheard = (name: string): boolean => right.devices.includes(name) && !isHeard(name);
  // The level of the site was left out.
  if (leaves.length === 0 && LEAVES.includes(device)) return !isUnheard(site);
  const digitsOnly = site.replaceAll(/[\d-]/g, '') === right.site.replaceAll(/[\d-]/g, '');
  return digitsOnly || distance(site, right.site) > NEAR || !isUnheard(device);
}

function deviceFor(level: string, devices: readonly string[]): Fit {
  const known = nearest(level, devices);
  if (known.cost <= NEAR) return known;
  return LEAVES.includes(plain(level)) || plain(level) === '' || plain(level) === ROOT
    ? { cost: 1, levels: [level] }
    : { cost: STRANGER_COST, levels: [plain(level)] };
}

function nearest(level: string, known: readonly string[]): Fit {
  return least(known.map((one) => ({ cost: distance(level, one), levels: [one] })));
}

/** 0: the same; 1: nothing alike. Case and hyphens are a slip of the hand. */
function distance(one: string, other: string): number {
  if (one === other) return 0;
  const [a, b] = [plain(one), plain(other)];
  return a === b ? 0.1 : editDistance(a, b) / Math.max(1, a.length, b.length);
}

/** As names are spelt here. */
function plain(level: string): string {
  return level
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '-')
    .replaceAll(/^-+|-+$/g, '');
}

function then(before: Fit, cost: number, levels: readonly string[]): Fit {
  return { cost: before.cost + cost, levels: [...before.levels, ...levels] };
}

function least(fits: readonly Fit[]): Fit {
  return fits.reduce((best, fit) => (fit.cost < best.cost ? fit : best), { cost: Infinity, levels: [] });
}
