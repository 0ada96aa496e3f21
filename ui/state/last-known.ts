/**
 * What was last known of a thing, in the past tense and with the time it is of; empty while the screen is live, because
 * then the picture itself says it.
 */
import { estimateThen, lineThen, pumpThen } from '../words/not-live.ts';
import { site } from './site-view.svelte.ts';

const clock = (atMs: number): string => site.time(atMs);

export function lineLastKnown(line: string): string {
  const last = site.live ? null : site.last;
  return last ? lineThen(last.lines.find((one) => one.line === line)?.state, clock(last.atMs)) : '';
}

export function structureLastKnown(structure: string): string {
  const last = site.live ? null : site.last;
  return last ? lineThen(last.structures.find((one) => one.structure === structure)?.state, clock(last.atMs)) : '';
}

export function pumpLastKnown(pump: string): string {
  const last = site.live ? null : site.last;
  return last ? pumpThen(last.pumps.find((one) => one.pump === pump)?.state, clock(last.atMs)) : '';
}

export function waterLastKnown(source: string): string {
  const last = site.live ? null : site.last;
  const supply = last?.supplies.find((one) => one.source === source);
  if (!last || !supply) return '';
  if (supply.filling) return `at ${clock(last.atMs)} it was being filled`;
  if (supply.emptyInS) return estimateThen(supply.emptyInS, last.atMs, clock, 'empty');
  return supply.usableM3 === null
    ? ''
    : `at ${clock(last.atMs)}: ${site.words(supply.usableM3, 'volume')} usable, not falling`;
}

export function fuelLastKnown(pump: string): string {
  const last = site.live ? null : site.last;
  const left = last?.pumps.find((one) => one.pump === pump)?.fuelLeftS;
  return last && left ? estimateThen(left, last.atMs, clock, 'out of fuel') : '';
}
