/**
 * Settings put in force on a network: known pressures, strength of every link, and which links water can pass.
 *
 * In: an assembly and settings. Out: its scratch tables, and 1 per node that a source or running pump can reach. Links
 * of nodes that nothing reaches are closed, since nothing determines a pressure there.
 */
import type { Assembly } from './assembly.ts';
import { PA_PER_M } from './constants.ts';
import { findWetNodes } from './reach.ts';
import type { Settings } from './settings.ts';

export function putInForce(net: Assembly, settings: Settings): Uint8Array {
  setHoses(net, settings);
  setSupplies(net, settings);
  setOutlets(net, settings);
  const wet = findWetNodes(net);
  listActive(net, wet);
  return wet;
}

export const isImposed = (settings: Settings, pump: number): boolean => !Number.isNaN(settings.dischargePa[pump]!);

function setHoses(net: Assembly, settings: Settings): void {
  const { open, strength } = net.scratch;
  for (let i = 0; i < net.pipeCount; i++) {
    open[i] = 1;
    strength[i] = net.pipes.friction[i]! * settings.hoseFactor[i]!;
  }
  for (let i = 0, k = net.pipeCount; i < net.gateCount; i++, k++) {
    const opening = settings.gateOpening[i]!;
    open[k] = opening > 0 ? 1 : 0;
    strength[k] = net.gateLoss[i]! / (opening * opening);
  }
}

function setSupplies(net: Assembly, settings: Settings): void {
  const { open, strength, pressure } = net.scratch;
  const firstPumpSlot = net.nodeCount + net.sourceCount;
  for (let i = 0; i < net.sourceCount; i++) pressure[net.nodeCount + i] = PA_PER_M * settings.sourceLevelM[i]!;
  for (let i = 0, k = net.pipeCount + net.gateCount; i < net.pumpCount; i++, k++) {
    const imposed = isImposed(settings, i);
    const supply = net.pumpSupply[i]!;
    if (imposed && supply < net.nodeCount) throw new RangeError(`${net.linkName[k]}: a pump that draws from a hose has no imposed pressure`);
    // An imposed pressure is given to the slot as if a tank that high stood there.
    pressure[firstPumpSlot + i] = imposed ? settings.dischargePa[i]! - net.liftPa[k]! : pressure[supply]!;
    open[k] = imposed || settings.pumpSpeed[i]! > 0 ? 1 : 0;
    strength[k] = settings.pumpSpeed[i]!;
  }
}

function setOutlets(net: Assembly, settings: Settings): void {
  const { open, strength, exponent } = net.scratch;
  const firstHead = net.pipeCount + net.gateCount + net.pumpCount;
  for (let i = 0, k = firstHead; i < net.headCount; i++, k++) {
    const off = settings.headOff[i] === 1;
    strength[k] = off ? net.headOpenK[i]! : net.headK[i]! * settings.headFactor[i]!;
    exponent[k] = off ? 0.5 : net.headExponent[i]!;
    open[k] = strength[k]! > 0 ? 1 : 0;
  }
  for (let i = 0, k = firstHead + net.headCount; i < net.nodeCount; i++, k++) {
    strength[k] = settings.leakK[i]!;
    exponent[k] = 0.5;
    open[k] = strength[k]! > 0 ? 1 : 0;
  }
}

function listActive(net: Assembly, wet: Uint8Array): void {
  const { scratch, nodeCount, from, to } = net;
  const dry = (end: number) => end < nodeCount && wet[end] === 0;
  scratch.activeCount = 0;
  for (let k = 0; k < net.linkCount; k++) {
    if (scratch.open[k] === 0) continue;
    if (dry(from[k]!) || dry(to[k]!)) scratch.open[k] = 0;
    else scratch.active[scratch.activeCount++] = k;
  }
}
