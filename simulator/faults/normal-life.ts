/** What crews, tenders and the weather do: no fault, and nothing in the truth track. */
import type { Plant } from '../plant.ts';
import { depthOf, sourceVolume } from '../vessel.ts';
import { type EventKind, grown, nothing } from './event-kind.ts';

const REFUEL_S = 120;
const BATTERY_S = 150;
/** How full a tank is when the next tender is called, and when it drives off. Assumptions. */
const CALLED_SHARE = 0.4;
const FULL_SHARE = 0.9;

export const throttle = {
  causes: [],
  at: 'pump',
  size: 0.95,
  most: 1.2,
  normal: true,
  says: 'the throttle is set; size: speed over rated',
  set: (plant, at, size) => {
    if (size !== null) plant.conditions.throttle[at] = size;
  },
} as const satisfies EventKind;

export const tender = {
  causes: [],
  at: 'source',
  size: 700,
  normal: true,
  says: 'a tender fills the tank; size: L/min, repair ends it',
  set: (plant, at, size) => {
    plant.conditions.sourceGainM3s[at] = (size ?? 0) / 60_000;
  },
} as const satisfies EventKind;

export const shuttle = {
  causes: [],
  at: 'source',
  size: 1_500,
  normal: true,
  creeps: true,
  says: 'tenders come in turns: each is called at 40 % of the tank and dumps until 90 %; size: L/min, repair ends it',
  set: dumpInTurns,
} as const satisfies EventKind;

export const gate = {
  causes: [],
  at: 'gate',
  size: 1,
  most: 1,
  normal: true,
  says: 'a gate is set by order; size: 0 shut to 1 open',
  set: (plant, at, size) => {
    if (size !== null) plant.conditions.gateOpening[at] = size;
  },
} as const satisfies EventKind;

export const refuel = {
  causes: [],
  at: 'pump',
  size: 0,
  normal: true,
  creeps: true,
  endsAfterS: () => REFUEL_S,
  says: 'the engine is stopped, filled up and started again within two minutes',
  set: (plant, at, size) => {
    plant.conditions.engineShare[at] = size === null ? 1 : 0;
    if (size === null) plant.fuelM3[at] = 0.95 * plant.layout.pumps[at]!.fuelCapacityM3;
  },
} as const satisfies EventKind;

export const cooling = {
  causes: [],
  at: 'site',
  size: 12,
  most: 60,
  normal: true,
  creeps: true,
  says: 'the night cools the lay over an hour; size: degrees',
  set: (plant, _at, size, elapsedS) => {
    plant.conditions.coolingK[0] = (size ?? 0) * grown(elapsedS, 3_600);
  },
} as const satisfies EventKind;

export const wind = {
  causes: [],
  at: 'site',
  size: 8,
  most: 40,
  normal: true,
  says: 'it blows: impact heads turn unevenly and waves run in the tank, pressures stay; size: m/s, mean',
  set: (plant, _at, size) => {
    plant.conditions.windMps[0] = size ?? 0;
  },
} as const satisfies EventKind;

export const sensorBattery = {
  causes: [],
  at: 'sensor',
  size: 1,
  normal: true,
  endsAfterS: () => BATTERY_S,
  says: "a sensor's battery is swapped: silent for two minutes and a half",
  set: nothing,
} as const satisfies EventKind;

/** One tender dumps until the tank is full, then none comes until the tank is low. */
function dumpInTurns(plant: Plant, source: number, size: number | null): void {
  const { shape } = plant.layout.sources[source]!;
  const share = plant.volumeM3[source]! / sourceVolume(shape, depthOf(shape));
  const { sourceGainM3s } = plant.conditions;
  if (size === null || share >= FULL_SHARE) sourceGainM3s[source] = 0;
  else if (share <= CALLED_SHARE) sourceGainM3s[source] = size / 60_000;
}
