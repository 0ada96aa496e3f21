/**
 * The heads of a lay on its pre-flight sheet: which would turn, the worst first, and the cheapest remedy for each that
 * would not.
 *
 * In: a layout, its pre-flight. Out: heads with their room in the range in which they turn; lines of text.
 * Limit: a remedy is found for its own head; what it does to the others is counted for the throttle only.
 */
import type { Head, Layout, UnitSystem } from '../../config/layout/layout.ts';
import { show } from '../../config/units.ts';
import { solveRigged } from '../core/hydraulics/governor.ts';
import { standingOf, type HeadStanding } from '../core/hydraulics/limits.ts';
import { buildNetwork } from '../core/hydraulics/network.ts';
import type { Network } from '../core/hydraulics/network.ts';
import type { HeadCheck, Preflight } from '../core/hydraulics/preflight.ts';
import { remediesFor } from '../core/hydraulics/remedy.ts';
import type { Remedy } from '../core/hydraulics/remedy.ts';
import { asRigged } from '../core/hydraulics/settings.ts';
import { bare, full, heading, named, table, wrapped } from './sheet-text.ts';

/** As well as kit figures are known: nearer than this to a limit, a head may be past it. */
const CLOSE = 0.1;
const MMPH_MPS = 1e-3 / 3600;
const INPH_MPS = 0.0254 / 3600;

const WORST_FIRST: readonly HeadStanding[] = ['breaks', 'no-water', 'too-weak', 'too-strong', 'turns'];
export const STANDING: Readonly<Record<HeadStanding, string>> = {
  breaks: 'may break',
  'no-water': 'no water',
  'too-weak': 'too weak',
  'too-strong': 'too strong',
  turns: 'turns',
};
export interface Judged {
  readonly head: Head;
  readonly check: HeadCheck;
  /** Room to the nearer end of the range in which it turns, relative to that end; negative outside. */
  readonly room: number;
}

export function judgedHeads(layout: Layout, found: Preflight): Judged[] {
  const judged = found.heads.map((check, i): Judged => {
    const head = layout.heads[i]!;
    const { turnPaMin, turnPaMax } = head.kit;
    return { head, check, room: Math.min(check.pressurePa / turnPaMin - 1, 1 - check.pressurePa / turnPaMax) };
  });
  return judged.toSorted((a, b) => rank(a.check.standing) - rank(b.check.standing) || a.room - b.room);
}

export function rank(standing: HeadStanding): number {
  return WORST_FIRST.indexOf(standing);
}

export function isClose({ check, room }: Judged): boolean {
  return check.standing === 'turns' && room < CLOSE;
}

export function headSection(layout: Layout, heads: readonly Judged[]): string[] {
  const { units } = layout;
  const inches = units !== 'metric';
  const rows = heads.map((judged) => {
    const { head, check } = judged;
    const { turnPaMin, turnPaMax, survivesPa } = head.kit;
    const rate = inches ? (check.rateMps / INPH_MPS).toFixed(2) : (check.rateMps / MMPH_MPS).toFixed(1);
    return [
      named(head),
      bare(check.pressurePa, 'pressure', units),
      `${bare(turnPaMin, 'pressure', units)}-${bare(turnPaMax, 'pressure', units)}`,
      bare(survivesPa, 'pressure', units),
      bare(check.flowM3s, 'flow', units),
      rate,
      isClose(judged) ? 'turns, close' : STANDING[check.standing],
    ];
  });
  const psi = show(0, 'pressure', units).unit;
  const header = ['', psi, 'turns at', 'bears', show(0, 'flow', units).unit, inches ? 'in/h' : 'mm/h', 'as rigged'];
  const weak = heads.filter(({ check }) => check.standing !== 'turns');
  const network = buildNetwork(layout);
  const remedies = weak.flatMap(({ head, check }) => {
    const [cheapest] = remediesFor(network, asRigged(network), head.id);
    return [
      ...wrapped(`${named(head)}: ${trouble(head, check, units)}`, '  '),
      ...wrapped(remedyWords(network, check.standing, cheapest), '      '),
    ];
  });
  return [
    ...heading('Heads'),
    ...remedies,
    ...(weak.length === 0 ? ['Every head is within the range in which it turns.'] : []),
    '',
    ...table([23, 6, 10, 7, 8, 6, 15], header, rows),
    '',
    ...wrapped(
      `'Close': within ${CLOSE * 100} % of an end of its range, which is no more than the kit is known ` +
        `to. ${inches ? 'in/h' : 'mm/h'} is the mean over the arc at the kit's throw; the rim and the ` +
        'ground next to the head get less. Wind is not modelled: it moves and thins the pattern.',
    ),
  ];
}

function trouble(head: Head, check: HeadCheck, units: UnitSystem): string {
  const { turnPaMin, turnPaMax, survivesPa } = head.kit;
  const pressure = full(check.pressurePa, 'pressure', units);
  switch (check.standing) {
    case 'no-water':
      return 'no water reaches it.';
    case 'too-weak':
      return `${pressure} is too weak to turn it, which takes ${full(turnPaMin, 'pressure', units)}.`;
    case 'breaks':
      return `${pressure} may break it or throw it off; it bears ${full(survivesPa, 'pressure', units)}.`;
    default:
      return `${pressure} is above the ${full(turnPaMax, 'pressure', units)} up to which it turns as it should.`;
  }
}

function remedyWords(network: Network, standing: HeadStanding, remedy: Remedy | undefined): string {
  if (standing === 'no-water') return 'Look for a shut gate or a pump too low for this height. No remedy was tried.';
  if (remedy === undefined) return 'None of the single changes tried is enough.';
  const { layout } = network;
  const subject = [...layout.pumps, ...layout.heads, ...layout.hoses].find(({ id }) => id === remedy.subject);
  const name = subject ? named(subject) : remedy.subject;
  const change = {
    'held-pressure': `let ${name} hold ${full(remedy.holdsPa ?? 0, 'pressure', layout.units)}`,
    throttle: `set the throttle of ${name} to ${Math.round((remedy.speed ?? 1) * 100)} % of rated speed`,
    'one-head-fewer': `take head ${name} off the line and close its feeder`,
    'shorter-hose': `lay hose ${name} at half its length`,
    'larger-hose': `lay hose ${name} one size larger`,
  }[remedy.change];
  return (
    `Cheapest remedy found: ${change}. It would then have ` +
    `${full(remedy.pressurePa, 'pressure', layout.units)}; ${othersThen(network, remedy)}.`
  );
}

/** One hand on the throttle moves every head, so the cure of one may be the fault of another. */
function othersThen(network: Network, remedy: Remedy): string {
  const { pumps, heads } = network.layout;
  if (remedy.speed === null) return 'check the changed layout again for the others';
  const settings = asRigged(network);
  settings.pumpSpeed[pumps.findIndex(({ id }) => id === remedy.subject)] = remedy.speed;
  const { pressurePa } = solveRigged(network, settings).solution;
  const wrong = heads.filter(
    (head) => standingOf(head, pressurePa[network.nodeOfHead.get(head.id)!]!) !== 'turns',
  ).length;
  return wrong === 0
    ? 'every head would then be in range'
    : `${wrong} of ${heads.length} heads would then be out of range`;
}
