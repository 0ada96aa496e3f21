/**
 * What each deed does to the plant: faults by their causes, and normal life.
 *
 * In: plant, index of the place, size (null: back as it was), seconds since the start for those that creep. Sizes are
 * of the kind that `says` tells. Times of creeping are assumptions: no public record of how fast such faults grow was
 * found.
 */
import type { Plant } from './plant.ts';
import { depthOf, sourceVolume } from './vessel.ts';

export type PlaceKind = 'head' | 'hose' | 'place' | 'gate' | 'pump' | 'source' | 'sensor' | 'line' | 'site';

export interface Kind {
  readonly at: PlaceKind;
  readonly size: number;
  /** Largest size that means anything. */
  readonly most?: number;
  readonly says: string;
  /** Sets the plant; `size` null: back as it was. Creeping kinds get the seconds since their start at every second. */
  readonly set: (plant: Plant, index: number, size: number | null, elapsedS: number) => void;
  readonly creeps?: boolean;
  /** Ends by itself, so long after its start. */
  readonly endsAfterS?: (size: number) => number;
  /** Normal life: nothing in the truth track. */
  readonly normal?: boolean;
}

const FADE_S = 60;
const BURN_S = 8;
const WEEP_S = 900;
const SILT_S = 1_200;
const CLOG_S = 600;
const AIR_S = 240;
const FREEZE_S = 300;
const THEFT_S = 120;
const REFUEL_S = 120;
const BATTERY_S = 150;
/** How full a tank is when the next tender is called, and when it drives off. Assumptions. */
const CALLED_SHARE = 0.4;
const FULL_SHARE = 0.9;
const OPEN_SHARE = 0.7;
/** As good as shut, and still a number for the solver. */
const BLOCKED_FACTOR = 1e7;

function bore(plant: Plant, hose: number): number {
  return OPEN_SHARE * (Math.PI / 4) * plant.layout.hoses[hose]!.kit.boreM ** 2;
}

function endOf(plant: Plant, hose: number): number {
  const { to } = plant.layout.hoses[hose]!;
  return plant.layout.places.findIndex((place) => place.id === to);
}

/** 0 at the start, 1 after `fullS`. */
function grown(elapsedS: number, fullS: number): number {
  return Math.min(1, elapsedS / fullS);
}

/** Tenders in turns: one dumps until the tank is full, then none comes until the tank is low. */
function shuttle(plant: Plant, source: number, size: number | null): void {
  const { shape } = plant.layout.sources[source]!;
  const share = plant.volumeM3[source]! / sourceVolume(shape, depthOf(shape));
  const { sourceGainM3s } = plant.conditions;
  if (size === null || share >= FULL_SHARE) sourceGainM3s[source] = 0;
  else if (share <= CALLED_SHARE) sourceGainM3s[source] = size / 60_000;
}

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

const HEADS: Readonly<Record<string, Kind>> = {
  'head-off': {
    at: 'head',
    size: 1,
    says: 'a head comes off its fitting',
    set: (plant, at, size) => {
      plant.conditions.headOff[at] = size === null ? 0 : 1;
    },
  },
  'head-slipped': {
    at: 'head',
    size: 2.5,
    most: 20,
    says: 'a light head slips off its mount and sprays on, lower; size: metres it fell',
    set: (plant, at, size) => {
      plant.conditions.headDropM[at] = size ?? 0;
    },
  },
  'head-stalled': {
    at: 'head',
    size: 1,
    says: 'an impact head stops turning and beating; its flow stays',
    set: (plant, at, size) => {
      plant.conditions.headStalled[at] = size === null ? 0 : 1;
    },
  },
  plug: {
    at: 'head',
    size: 1,
    most: 1,
    says: 'a nozzle is plugged; size: share shut',
    set: (plant, at, size) => {
      plant.conditions.headShare[at] = 1 - (size ?? 0);
    },
  },
  'plug-creeping': {
    at: 'head',
    size: 0.9,
    most: 1,
    creeps: true,
    says: 'silt plugs a nozzle over 20 minutes; size: share shut at the end',
    set: (plant, at, size, elapsedS) => {
      plant.conditions.headShare[at] = 1 - (size ?? 0) * grown(elapsedS, SILT_S);
    },
  },
  'feeder-kinked': {
    at: 'head',
    size: 60,
    says: "a head's feeder is kinked; size: factor on its resistance",
    set: (plant, at, size) => {
      plant.conditions.feederFactor[at] = size ?? 1;
    },
  },
  theft: {
    at: 'line',
    size: THEFT_S,
    creeps: true,
    says: 'heads of a line are taken one at a time, their feeders folded shut; size: seconds between',
    set: takeHeads,
  },
};

const HOSES: Readonly<Record<string, Kind>> = {
  leak: {
    at: 'hose',
    size: 0.05,
    most: 1,
    says: "a leak at a hose's far end; size: share of its bore",
    set: (plant, at, size) => {
      plant.conditions.holeM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at);
    },
  },
  'gasket-weep': {
    at: 'hose',
    size: 0.06,
    most: 1,
    creeps: true,
    says: "a gasket at a hose's far end weeps, and grows over 15 minutes; size: share of its bore at the end",
    set: (plant, at, size, elapsedS) => {
      plant.conditions.holeM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at) * grown(elapsedS, WEEP_S) ** 2;
    },
  },
  'hose-burst': {
    at: 'hose',
    size: 1,
    most: 1,
    says: 'a hose parts at its far end',
    set: (plant, at, size) => {
      plant.conditions.burstM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at);
    },
  },
  'hose-burned': {
    at: 'hose',
    size: 1,
    most: 1,
    creeps: true,
    says: 'a hose burns through within seconds',
    set: (plant, at, size, elapsedS) => {
      plant.conditions.burstM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at) * grown(elapsedS, BURN_S);
    },
  },
  restriction: {
    at: 'hose',
    size: 40,
    says: 'a hose is kinked; size: factor on its resistance',
    set: (plant, at, size) => {
      plant.conditions.hoseFactor[at] = size ?? 1;
    },
  },
  frozen: {
    at: 'hose',
    size: 1,
    most: 1,
    creeps: true,
    says: 'a hose freezes shut over five minutes; size: share of its bore lost at the end',
    set: (plant, at, size, elapsedS) => {
      const open = 1 - (size ?? 0) * grown(elapsedS, FREEZE_S);
      plant.conditions.hoseFactor[at] = Math.min(BLOCKED_FACTOR, Math.max(open, 1e-3) ** -2.5);
    },
  },
  'gate-shut': {
    at: 'gate',
    size: 0,
    most: 1,
    says: 'a gate is shut that nobody ordered shut',
    set: (plant, at, size) => {
      plant.conditions.gateOpening[at] = size ?? plant.layout.gates[at]!.opening;
    },
  },
};

const SUPPLY: Readonly<Record<string, Kind>> = {
  'pump-fade': {
    at: 'pump',
    size: 0.8,
    most: 1,
    creeps: true,
    says: 'the engine loses speed over a minute; size: what is left',
    set: (plant, at, size, elapsedS) => {
      plant.conditions.engineShare[at] = size === null ? 1 : 1 - (1 - size) * grown(elapsedS, FADE_S);
    },
  },
  'pump-worn': {
    at: 'pump',
    size: 0.85,
    most: 1,
    says: 'the pump makes less of its curve; size: what is left',
    set: (plant, at, size) => {
      plant.conditions.curveShare[at] = size ?? 1;
    },
  },
  'pump-stop': {
    at: 'pump',
    size: 0,
    says: 'the engine stops',
    set: (plant, at, size) => {
      plant.conditions.engineShare[at] = size ?? 1;
    },
  },
  'fuel-out': {
    at: 'pump',
    size: 0.05,
    says: 'the can was short; size: litres left. Repair fills it',
    set: (plant, at, size) => {
      plant.fuelM3[at] = size === null ? 0.95 * plant.layout.pumps[at]!.fuelCapacityM3 : size / 1_000;
    },
  },
  'dead-head': {
    at: 'pump',
    size: 0,
    says: 'every gate is shut while the pump runs',
    set: (plant, _at, size) => {
      plant.conditions.allShut[0] = size === null ? 0 : 1;
    },
  },
  'suction-trouble': {
    at: 'pump',
    size: 0.9,
    most: 1,
    says: 'air gets into the suction; size: share',
    set: (plant, at, size) => {
      plant.conditions.suctionAir[at] = size ?? 0;
    },
  },
  'suction-air-leak': {
    at: 'pump',
    size: 0.4,
    most: 1,
    creeps: true,
    says: 'a suction coupling draws air, more over four minutes; size: share at the end',
    set: (plant, at, size, elapsedS) => {
      plant.conditions.suctionAir[at] = (size ?? 0) * grown(elapsedS, AIR_S);
    },
  },
  'strainer-clogging': {
    at: 'pump',
    size: 30,
    creeps: true,
    says: 'ash clogs the strainer over ten minutes; size: factor on the loss of the suction at the end',
    set: (plant, at, size, elapsedS) => {
      plant.conditions.suctionFactor[at] = size === null ? 1 : 1 + (size - 1) * grown(elapsedS, CLOG_S) ** 2;
    },
  },
  'check-valve-stuck': {
    at: 'pump',
    size: 1,
    says: 'the non-return valve stays open: the lay drains back when the pump stops',
    set: (plant, at, size) => {
      plant.conditions.valveStuck[at] = size === null ? 0 : 1;
    },
  },
  'source-falling': {
    at: 'source',
    size: 0.05,
    creeps: true,
    says: 'the water falls away from the strainer; size: metres a minute',
    set: (plant, at, size, elapsedS) => {
      plant.conditions.sourceDropM[at] = ((size ?? 0) * elapsedS) / 60;
    },
  },
  'tank-leak': {
    at: 'source',
    size: 60,
    says: 'the tank leaks; size: L/min',
    set: (plant, at, size) => {
      plant.conditions.sourceLeakM3s[at] = (size ?? 0) / 60_000;
    },
  },
  'refill-late': {
    at: 'source',
    size: 30,
    creeps: true,
    endsAfterS: (size) => 60 * size,
    says: 'no tender gets through, whoever was to come; size: minutes',
    set: (plant, at, size) => {
      plant.conditions.refillHeld[at] = size === null ? 0 : 1;
    },
  },
  'tank-overfilled': {
    at: 'source',
    size: 2_500,
    says: 'a tender fills more than the tank holds; size: L/min',
    set: (plant, at, size) => {
      plant.conditions.sourceGainM3s[at] = (size ?? 0) / 60_000;
    },
  },
};

const nothing = (): void => undefined;

const SENSORS: Readonly<Record<string, Kind>> = {
  'sensor-silent': { at: 'sensor', size: 1, says: 'a sensor sends nothing', set: nothing },
  'sensor-stuck': { at: 'sensor', size: 1, says: 'a sensor repeats its last value', set: nothing },
  'sensor-iced': {
    at: 'sensor',
    size: 2,
    says: 'ice shuts the stub of a pressure sensor: it holds what is locked in; size: kPa a minute that the ice adds',
    set: nothing,
  },
  'sensor-drift': { at: 'sensor', size: 10, says: 'a pressure sensor drifts; size: kPa a minute', set: nothing },
  'sensor-swapped': { at: 'sensor', size: 1, says: 'a sensor and the next of its kind trade places', set: nothing },
};

const NORMAL: Readonly<Record<string, Kind>> = {
  throttle: {
    at: 'pump',
    size: 0.95,
    most: 1.2,
    normal: true,
    says: 'the throttle is set; size: speed over rated',
    set: (plant, at, size) => {
      if (size !== null) plant.conditions.throttle[at] = size;
    },
  },
  tender: {
    at: 'source',
    size: 700,
    normal: true,
    says: 'a tender fills the tank; size: L/min, repair ends it',
    set: (plant, at, size) => {
      plant.conditions.sourceGainM3s[at] = (size ?? 0) / 60_000;
    },
  },
  shuttle: {
    at: 'source',
    size: 1_500,
    normal: true,
    creeps: true,
    says: 'tenders come in turns: each is called at 40 % of the tank and dumps until 90 %; size: L/min, repair ends it',
    set: shuttle,
  },
  gate: {
    at: 'gate',
    size: 1,
    most: 1,
    normal: true,
    says: 'a gate is set by order; size: 0 shut to 1 open',
    set: (plant, at, size) => {
      if (size !== null) plant.conditions.gateOpening[at] = size;
    },
  },
  refuel: {
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
  },
  cooling: {
    at: 'site',
    size: 12,
    most: 60,
    normal: true,
    creeps: true,
    says: 'the night cools the lay over an hour; size: degrees',
    set: (plant, _at, size, elapsedS) => {
      plant.conditions.coolingK[0] = (size ?? 0) * grown(elapsedS, 3_600);
    },
  },
  wind: {
    at: 'site',
    size: 8,
    most: 40,
    normal: true,
    says: 'it blows: impact heads turn unevenly and waves run in the tank, pressures stay; size: m/s, mean',
    set: (plant, _at, size) => {
      plant.conditions.windMps[0] = size ?? 0;
    },
  },
  'sensor-battery': {
    at: 'sensor',
    size: 1,
    normal: true,
    endsAfterS: () => BATTERY_S,
    says: "a sensor's battery is swapped: silent for two minutes and a half",
    set: nothing,
  },
};

export const KINDS: Readonly<Record<string, Kind>> = { ...HEADS, ...HOSES, ...SUPPLY, ...SENSORS, ...NORMAL };
