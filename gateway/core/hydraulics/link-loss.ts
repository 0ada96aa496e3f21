/**
 * Loss of pressure in every link at its present flow, and the slope of that loss: the inner loop of the solver.
 *
 * In: an assembly with its settings in force, a flow m3/s. Out: loss Pa and slope Pa per m3/s, in a pair that the next
 * call overwrites. Every loss grows with flow, which is what makes the solution unique and the solver safe. Three small
 * departures from the laws keep it so: below a trickle the power laws turn into a cubic of finite slope (same value and
 * slope where they meet), every link has a least slope, and water that would go the wrong way through a non-return or
 * in through a nozzle meets a resistance so stiff that next to nothing passes; the solution reports it as nil.
 */
import type { Assembly } from './assembly.ts';
import { COLEBROOK, DARCY_WEISBACH, HAZEN_WILLIAMS } from './hose-table.ts';
import type { HoseTable } from './hose-table.ts';
import { flowPower } from './flow-power.ts';
import { darcyFactor, darcyFactorSlope, HAZEN_WILLIAMS_EXPONENT } from './friction.ts';
import { evaluateRated } from './pump-curve.ts';
import { IMPOSED } from './scratch.ts';

/** Pa per m3/s: 0.05 Pa at 300 L/min. */
export const LEAST_SLOPE = 10;
/** Pa per m3/s against the grain: 10 m of water force 0.006 millilitres a minute through. */
const STIFF = 1e15;
/** The same of outlets: stiffer, so that where nothing flows at all it is the pump that sets the pressure. */
const STIFF_OUTLET = 1e18;
/** m3/s: how a closed nozzle or non-return is told from an open one without flow. */
export const CLOSED_M3S = -1e-12;
/** Pa per m3/s between an imposed discharge pressure and its place: 0.5 Pa at 300 L/min. */
const IMPOSED_SLOPE = 100;

const pair = new Float64Array(2);

/**
 * Loss and slope of any link at a flow, Pa and Pa per m3/s, in the shared pair. The lateral of a head is part of its
 * link.
 */
export function linkLoss(net: Assembly, k: number, flow: number): Float64Array {
  const { strength } = net.scratch;
  const pumpStart = net.pipeCount + net.gateCount;
  const outletStart = pumpStart + net.pumpCount;
  if (flow < 0 && k >= outletStart) against(flow, 0, STIFF_OUTLET);
  else if (flow < 0 && net.oneWay[k] === 1 && k < pumpStart) against(flow, 0);
  else if (k < net.pipeCount) hoseLoss(net.pipes, k, strength[k]!, flow);
  else if (k < pumpStart) gateLoss(strength[k]!, net.gateTrickleM3s[k - net.pipeCount]!, flow);
  else if (k < outletStart) pumpLoss(net, k - pumpStart, strength[k]!, flow);
  else outletLoss(net, k, k - outletStart, flow);
  return pair;
}

function gateLoss(strength: number, trickle: number, flow: number): void {
  const q = Math.abs(flow);
  pair[0] = flow * (squareSteepness(strength, q, trickle) + LEAST_SLOPE);
  pair[1] = squareSlope(strength, q, trickle) + LEAST_SLOPE;
}

function outletLoss(net: Assembly, k: number, outlet: number, flow: number): void {
  const lateral = outlet < net.headCount ? net.laterals.pipe[outlet]! : -1;
  nozzleAt(net, k, flow);
  if (lateral < 0) return;
  const nozzlePa = pair[0]!;
  const steepness = pair[1]!;
  hoseLoss(net.pipes, lateral, net.scratch.strength[lateral]!, flow);
  pair[0]! += nozzlePa;
  pair[1]! += steepness;
}

/** Pressure at a nozzle that gives this flow, and its slope, Pa and Pa per m3/s, in the shared pair. */
export function nozzleAt(net: Assembly, link: number, flow: number): Float64Array {
  nozzleLoss(net.scratch.strength[link]!, net.scratch.exponent[link]!, flow);
  return pair;
}

/** Loss and slope of one suction hose, Pa and Pa per m3/s, in the shared pair. */
export function suctionLoss(net: Assembly, pump: number, flow: number): Float64Array {
  hoseLoss(net.suctions, pump, net.suctions.friction[pump]!, flow);
  return pair;
}

/** Part of a pipe's loss that grows with its hose factor, at factor 1. */
export function frictionLoss(net: Assembly, pipe: number, flow: number): number {
  if (net.oneWay[pipe] === 1 && flow < 0) return 0;
  const q = Math.abs(flow);
  if (net.pipes.law[pipe] === HAZEN_WILLIAMS && q >= net.pipes.trickleM3s[pipe]!)
    return net.pipes.friction[pipe]! * flowPower(q) * flow;
  hoseLoss(net.pipes, pipe, net.pipes.friction[pipe]!, flow);
  const whole = pair[0]!;
  hoseLoss(net.pipes, pipe, 0, flow);
  return whole - pair[0]!;
}

/** d rise / d speed at a flow held still: of s^2 f(q/s) it is 2 s f - q f'. */
export function riseBySpeed(net: Assembly, pump: number, flow: number): number {
  const speed = net.scratch.strength[net.pipeCount + net.gateCount + pump]!;
  const q = Math.max(flow, 0);
  evaluateRated(net.pumpCurves[pump]!, q / speed, pair);
  return 2 * speed * pair[0]! - q * pair[1]!;
}

function against(flow: number, lossAtRest: number, stiffness = STIFF): void {
  pair[0] = lossAtRest + stiffness * flow;
  pair[1] = stiffness;
}

/** Loss per flow of r q |q|, with the cubic below the trickle; and its slope. */
function squareSteepness(r: number, q: number, trickle: number): number {
  return q >= trickle ? r * q : 0.5 * r * (trickle + (q * q) / trickle);
}
function squareSlope(r: number, q: number, trickle: number): number {
  return q >= trickle ? 2 * r * q : 0.5 * r * (trickle + (3 * q * q) / trickle);
}

function hoseLoss(table: HoseTable, i: number, friction: number, flow: number): void {
  const q = Math.abs(flow);
  const trickle = table.trickleM3s[i]!;
  let steep = squareSteepness(table.minor[i]!, q, trickle) + LEAST_SLOPE;
  let slope = squareSlope(table.minor[i]!, q, trickle) + LEAST_SLOPE;
  const law = table.law[i]!;
  if (law === HAZEN_WILLIAMS) {
    const n = HAZEN_WILLIAMS_EXPONENT;
    if (q >= trickle) {
      const rub = friction * flowPower(q);
      steep += rub;
      slope += n * rub;
    } else {
      const scale = friction * trickle ** (n - 1);
      const square = (q / trickle) ** 2;
      steep += scale * (0.5 * (3 - n) + 0.5 * (n - 1) * square);
      slope += scale * (0.5 * (3 - n) + 1.5 * (n - 1) * square);
    }
  } else if (law === DARCY_WEISBACH || law === COLEBROOK) {
    const reynolds = Math.max(q * table.reynoldsPerFlow[i]!, 1e-9);
    const roughness = table.relativeRoughness[i]!;
    const byColebrook = law === COLEBROOK;
    const f = darcyFactor(reynolds, roughness, byColebrook);
    const rate = friction * (reynolds / table.reynoldsPerFlow[i]!);
    steep += rate * f;
    slope += rate * (2 * f + reynolds * darcyFactorSlope(reynolds, roughness, byColebrook));
  } else {
    steep += squareSteepness(friction, q, trickle);
    slope += squareSlope(friction, q, trickle);
  }
  if (table.supply[i]! > 0) {
    const hydrant = table.supply[i]! * flowPower(Math.max(q, trickle));
    steep += hydrant;
    slope += (q >= trickle ? HAZEN_WILLIAMS_EXPONENT : 1) * hydrant;
  }
  pair[0] = flow * steep;
  pair[1] = slope;
}

function pumpLoss(net: Assembly, pump: number, speed: number, flow: number): void {
  if (speed === IMPOSED) {
    if (flow < 0) return against(flow, 0);
    pair[0] = IMPOSED_SLOPE * flow;
    pair[1] = IMPOSED_SLOPE;
    return;
  }
  evaluateRated(net.pumpCurves[pump]!, Math.max(flow, 0) / speed, pair);
  const rise = speed * speed * pair[0]!;
  const riseSlope = speed * pair[1]!;
  if (flow < 0) return against(flow, -rise);
  suctionLoss(net, pump, flow);
  pair[0]! -= rise;
  pair[1]! -= riseSlope;
}

/** Inverse of q = K p^x. Below 1 Pa, where q = K, the same kind of cubic as for hoses. */
function nozzleLoss(k: number, exponent: number, flow: number): void {
  const u = flow / k;
  if (u >= 1) {
    const p = exponent === 0.5 ? u * u : u ** (1 / exponent);
    pair[0] = p;
    pair[1] = p / (exponent * flow);
  } else {
    const n = 1 / exponent;
    pair[0] = u * (0.5 * (3 - n) + 0.5 * (n - 1) * u * u);
    pair[1] = (0.5 * (3 - n) + 1.5 * (n - 1) * u * u) / k;
  }
}
