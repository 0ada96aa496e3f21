/**
 * A pump that holds its discharge pressure: what speed it needs, and what happens when that is more than it has.
 *
 * In: a network, settings, gauge pressure to hold at each governed pump's outlet Pa (NaN: not governed), greatest speed
 * as a ratio to rated. Out: the steady state and the speed of every pump. First the wanted pressure is imposed; a pump
 * that would need more than its greatest speed is then given that speed, and its curve rules.
 * A governed pump hides faults from its discharge pressure: they show in its speed and flow instead.
 */
import type { Assembly } from './assembly.ts';
import { requirePositive } from './invariant.ts';
import type { Network } from './network.ts';
import { speedForDuty } from './pump-curve.ts';
import { copySettings, isImposed } from './settings.ts';
import type { Settings } from './settings.ts';
import type { Solution } from './solution.ts';
import { solve } from './solve.ts';

export interface GovernedState {
  readonly solution: Solution;
  /** Settings under which it was found: pumps past their limit run at it, the others are held. */
  readonly settings: Settings;
  /** Per pump, ratio to rated. */
  readonly speed: Float64Array;
}

export function solveGoverned(
  net: Assembly,
  wished: Settings,
  holdPa: Float64Array,
  greatestSpeed: number,
  start?: Solution,
): GovernedState {
  requirePositive('solveGoverned', 'greatest speed', greatestSpeed);
  if (holdPa.length !== net.pumpCount)
    throw new RangeError(`solveGoverned: ${holdPa.length} pressures for ${net.pumpCount} pumps`);
  const settings = copySettings(wished);
  const held = [...holdPa.keys()].filter((pump) => !Number.isNaN(holdPa[pump]!) && settings.pumpSpeed[pump]! > 0);
  for (const pump of held) settings.dischargePa[pump] = holdPa[pump]!;
  let solution = solve(net, settings, start);
  // Each round lets go of one pump or more, and one let go is never taken back.
  for (let round = 0; round < held.length && solution.converged; round++) {
    const beyond = held.filter(
      (pump) => isImposed(settings, pump) && speedOf(net, settings, solution, pump) > greatestSpeed,
    );
    if (beyond.length === 0) break;
    for (const pump of beyond) {
      settings.dischargePa[pump] = NaN;
      settings.pumpSpeed[pump] = greatestSpeed;
    }
    solution = solve(net, settings, solution);
  }
  const speed = settings.pumpSpeed.map((set, pump) =>
    isImposed(settings, pump) ? speedOf(net, settings, solution, pump) : set,
  );
  return { solution, settings, speed };
}

/** Speed at which the pump's curve gives the rise from its eye to the held pressure, at the flow found; NaN: none. */
function speedOf(net: Assembly, settings: Settings, solution: Solution, pump: number): number {
  const link = net.pipeCount + net.gateCount + pump;
  const outletAtEyePa = settings.dischargePa[pump]! + net.pumpLiftPa[pump]! - net.liftPa[link]!;
  const flowM3s = solution.pumpFlowM3s[pump]!;
  const risePa = outletAtEyePa - solution.suctionPa[pump]!;
  // A state that did not converge may hold no number, and no speed belongs to that.
  if (!Number.isFinite(flowM3s) || !Number.isFinite(risePa)) return NaN;
  return speedForDuty(net.pumpCurves[pump]!, flowM3s, risePa);
}

/** Judgement: a governor opens the throttle no further than a twentieth past rated speed. */
export const GREATEST_SPEED = 1.05;

/** The lay with its governors at work, as its layout sets them: those that hold a pressure, hold it while they can. */
export function solveRigged(net: Network, wished: Settings, start?: Solution): GovernedState {
  return solveGoverned(
    net,
    wished,
    Float64Array.from(net.layout.pumps, (pump) => pump.holdsPa ?? NaN),
    GREATEST_SPEED,
    start,
  );
}
