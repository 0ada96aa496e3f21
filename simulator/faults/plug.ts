/** Nozzles shut: by dirt, at once or over minutes, or because their heads were taken. Size: share shut. */
import type { Plant } from '../plant.ts';
import { type EventKind, grown } from './event-kind.ts';

const SILT_S = 1_200;
const THEFT_S = 120;

export const plug = {
  causes: ['plug'],
  at: 'head',
  size: 1,
  most: 1,
  says: 'a nozzle is plugged; size: share shut',
  set: (plant, at, size) => {
    plant.conditions.headShare[at] = 1 - (size ?? 0);
  },
} as const satisfies EventKind;

export const plugCreeping = {
  causes: ['plug'],
  at: 'head',
  size: 0.9,
  most: 1,
  creeps: true,
  says: 'silt plugs a nozzle over 20 minutes; size: share shut at the end',
  set: (plant, at, size, elapsedS) => {
    plant.conditions.headShare[at] = 1 - (size ?? 0) * grown(elapsedS, SILT_S);
  },
} as const satisfies EventKind;

export const theft = {
  causes: ['plug', 'gate-shut', 'restriction'],
  at: 'line',
  size: THEFT_S,
  creeps: true,
  says: 'heads of a line are taken one at a time, their feeders folded shut; size: seconds between',
  set: takeHeads,
} as const satisfies EventKind;

/** Heads of the line go one after the other, nearest the pump first; their feeders are left folded shut. */
function takeHeads(plant: Plant, line: number, everyS: number | null, elapsedS: number): void {
  const own = plant.layout.heads
    .map((head, index) => ({ head, index }))
    .filter(({ head }) => head.line === plant.layout.lines[line]!.id);
  const gone = everyS === null ? 0 : 1 + Math.floor(elapsedS / Math.max(1, everyS));
  own.forEach(({ index }, order) => {
    plant.conditions.headTaken[index] = order < gone ? 1 : 0;
  });
}
