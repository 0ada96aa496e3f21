/**
 * The cheapest change that would bring a head into the range in which it turns, each tried in the model first.
 *
 * In: a network, settings, a head. Out: changes that are enough, cheapest first, with the pressure each would give;
 * none if the head turns already. Tried in the order of what they cost a crew: the least change of throttle (or of the
 * pressure that a governor holds), a head fewer on the line, the hose that takes most pressure halved in length, then
 * made one size larger. Judgement: half again as much bore for 'one size larger' (25 to 38 mm); throttle up by 10 % at
 * most, down to half.
 */
import { GREATEST_SPEED, solveGoverned, solveRigged } from './governor.ts';
import { standingOf } from './limits.ts';
import type { Network } from './network.ts';
import { copySettings } from './settings.ts';
import type { Settings } from './settings.ts';
import type { Solution } from './solution.ts';

export interface Remedy {
  readonly change: 'throttle' | 'held-pressure' | 'one-head-fewer' | 'shorter-hose' | 'larger-hose';
  /** Pump, head or hose that it is done to. */
  readonly subject: string;
  /** Ratio to rated, for the throttle. */
  readonly speed: number | null;
  /** Pressure for the governor to hold, Pa. */
  readonly holdsPa: number | null;
  readonly pressurePa: number;
}

const MORE = [1.05, 1.1];
/** A governor may be set to whatever the engine's speed allows: the solver says where that ends. */
const MORE_HELD = [1.05, 1.1, 1.2, 1.3, 1.5, 1.75, 2];
const LESS = [0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.65, 0.6, 0.55, 0.5];
const SHORTER = 0.5;
/** Loss goes with bore to the -4.871 (Hazen-Williams). */
const LARGER = 1.5 ** -4.871;

export function remediesFor(net: Network, settings: Settings, headId: string): Remedy[] {
  const head = net.layout.heads[net.headIndex.get(headId)!]!;
  const node = net.nodeOfHead.get(headId)!;
  const before = solveRigged(net, settings).solution;
  const standing = standingOf(head, before.pressurePa[node]!);
  if (standing === 'turns' || standing === 'no-water') return [];
  const found: Remedy[] = [];
  const keep = (remedy: Omit<Remedy, 'pressurePa'>, after: Solution): boolean => {
    const pressurePa = after.pressurePa[node]!;
    const enough = after.converged && standingOf(head, pressurePa) === 'turns';
    if (enough) found.push({ ...remedy, pressurePa });
    return enough;
  };
  const attempt = (change: Remedy['change'], subject: string, make: (s: Settings) => void): boolean => {
    const changed = copySettings(settings);
    make(changed);
    return keep({ change, subject, speed: null, holdsPa: null }, solveRigged(net, changed, before).solution);
  };
  atThePump(net, settings, before, standing === 'too-weak', keep);
  if (standing !== 'too-weak') return found;
  net.layout.heads.some((other, i) => {
    if (other.line !== head.line || other.id === headId) return false;
    return attempt('one-head-fewer', other.id, (s) => (s.headFactor[i] = 0));
  });
  const hose = costliestHose(net, before, head.line);
  if (hose !== null) {
    const id = net.layout.hoses[hose]!.id;
    attempt('shorter-hose', id, (s) => (s.hoseFactor[hose]! *= SHORTER));
    attempt('larger-hose', id, (s) => (s.hoseFactor[hose]! *= LARGER));
  }
  return found;
}

type Keep = (remedy: Omit<Remedy, 'pressurePa'>, after: Solution) => boolean;

/** The least step of the throttle that is enough; of a governed pump, of the pressure it holds. */
function atThePump(net: Network, settings: Settings, before: Solution, weak: boolean, keep: Keep): void {
  const pump = strongestPump(before);
  const { id, holdsPa } = net.layout.pumps[pump]!;
  if (holdsPa === null) {
    (weak ? MORE : LESS).some((ratio) => {
      const changed = copySettings(settings);
      const speed = ratio * settings.pumpSpeed[pump]!;
      changed.pumpSpeed[pump] = speed;
      return keep(
        { change: 'throttle', subject: id, speed, holdsPa: null },
        solveRigged(net, changed, before).solution,
      );
    });
    return;
  }
  (weak ? MORE_HELD : LESS).some((ratio) => {
    const held = Float64Array.from(net.layout.pumps, (one, i) => (i === pump ? ratio * holdsPa : (one.holdsPa ?? NaN)));
    const after = solveGoverned(net, settings, held, GREATEST_SPEED, before).solution;
    return keep({ change: 'held-pressure', subject: id, speed: null, holdsPa: ratio * holdsPa }, after);
  });
}

function strongestPump(solution: Solution): number {
  return solution.pumpFlowM3s.indexOf(Math.max(...solution.pumpFlowM3s));
}

/** Of the line itself and the trunk: the hose that takes most pressure. */
function costliestHose(net: Network, solution: Solution, line: string): number | null {
  let most = 0;
  let costliest: number | null = null;
  net.layout.hoses.forEach((hose, i) => {
    if (hose.line !== line && hose.line !== null) return;
    const fall = net.liftPa[i]! + solution.pressurePa[net.from[i]!]! - solution.pressurePa[net.to[i]!]!;
    if (Math.abs(fall) <= most) return;
    most = Math.abs(fall);
    costliest = i;
  });
  return costliest;
}
