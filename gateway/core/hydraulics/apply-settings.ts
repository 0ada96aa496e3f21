/**
 * Settings put in force on a network: known pressures, strength of every link, and which links water can pass.
 *
 * In: an assembly and settings. Out: its scratch tables, and 1 per node that a source or running pump can reach. Links
 * of nodes that nothing reaches are closed, since nothing determines a pressure there. What is not a number stays open,
 * so that the solver trips over it and names it.
 */
import type { Assembly } from './assembly.ts';
import { PA_PER_M } from './constants.ts';
import { findWetNodes } from './connectivity.ts';
import { TORRICELLI_EXPONENT } from './nozzle.ts';
import { IMPOSED } from './scratch.ts';
import { isImposed } from './settings.ts';
import type { Settings } from './settings.ts';

export function applySettings(net: Assembly, settings: Settings): Uint8Array {
  const { scratch } = net;
  setHoses(net, settings);
  setSupplies(net, settings);
  setOutlets(net, settings);
  if (!isSame(scratch.asked, scratch.askedBefore)) {
    scratch.askedBefore.set(scratch.asked);
    scratch.open.set(scratch.asked);
    scratch.wet = findWetNodes(net);
    listActive(net, scratch.wet);
  }
  return scratch.wet;
}

function isSame(a: Uint8Array, b: Uint8Array): boolean {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

function setHoses(net: Assembly, settings: Settings): void {
  const { asked, strength } = net.scratch;
  for (let i = 0; i < net.pipeCount; i++) {
    asked[i] = 1;
    strength[i] = net.pipes.friction[i]! * settings.hoseFactor[i]!;
  }
  for (let i = 0, k = net.pipeCount; i < net.gateCount; i++, k++) {
    const opening = settings.gateOpening[i]!;
    asked[k] = opening <= 0 ? 0 : 1;
    strength[k] = net.gateLoss[i]! / (opening * opening);
  }
}

function setSupplies(net: Assembly, settings: Settings): void {
  const { asked, strength, pressure } = net.scratch;
  const firstPumpSlot = net.nodeCount + net.sourceCount;
  for (let i = 0; i < net.sourceCount; i++) pressure[net.nodeCount + i] = PA_PER_M * settings.sourceLevelM[i]!;
  for (let i = 0, k = net.pipeCount + net.gateCount; i < net.pumpCount; i++, k++) {
    const imposed = isImposed(settings, i);
    const supply = net.pumpSupply[i]!;
    if (imposed && supply < net.nodeCount)
      throw new RangeError(`${net.linkName[k]}: a pump that draws from a hose has no imposed pressure`);
    // An imposed pressure is given to the slot as if a tank that high stood there.
    pressure[firstPumpSlot + i] = imposed ? settings.dischargePa[i]! - net.liftPa[k]! : pressure[supply]!;
    asked[k] = !imposed && settings.pumpSpeed[i]! <= 0 ? 0 : 1;
    strength[k] = imposed ? IMPOSED : settings.pumpSpeed[i]!;
  }
}

function setOutlets(net: Assembly, settings: Settings): void {
  const { asked, strength, exponent } = net.scratch;
  const firstHead = net.pipeCount + net.gateCount + net.pumpCount;
  for (let i = 0, k = firstHead; i < net.headCount; i++, k++) {
    const off = settings.headOff[i] === 1;
    strength[k] = off ? net.headOpenK[i]! : net.headK[i]! * settings.headFactor[i]!;
    exponent[k] = off ? TORRICELLI_EXPONENT : net.headExponent[i]!;
    asked[k] = strength[k]! <= 0 ? 0 : 1;
  }
  const firstLeak = firstHead + net.headCount;
  for (let i = 0, k = firstLeak; i < net.nodeCount; i++, k++) {
    strength[k] = settings.leakK[i]!;
    asked[k] = settings.leakK[i]! <= 0 ? 0 : 1;
  }
}

/** Closes what is dry and lists the rest. */
function listActive(net: Assembly, wet: Uint8Array): void {
  const { scratch, from, to } = net;
  const { open, active } = scratch;
  const { headOfPipe } = net.laterals;
  let count = 0;
  for (let k = 0; k < net.linkCount; k++) {
    if (open[k] === 0 || headOfPipe[k]! >= 0) continue;
    if (wet[from[k]!] === 0 || wet[to[k]!] === 0) open[k] = 0;
    else active[count++] = k;
  }
  scratch.activeCount = count;
}
