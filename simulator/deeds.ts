/**
 * Everything that can be done to the plant while it runs: faults by the names of their causes, and normal life.
 *
 * In: a deed {do, what, at, size}. Out: null when done, or a sentence that says what would be right. A started fault is
 * kept in the truth track with its time until it is repaired. Sizes: plug 0..1 share shut; leak and burst: share of
 * the hose's bore; restriction: factor on the hose's resistance; drift kPa a minute; throttle and fade: speed over rated.
 */
import type { Layout } from '../config/layout.ts';
import { nearestWord } from '../config/spelling.ts';
import type { Plant } from './plant.ts';

export interface Deed {
  readonly do: 'start' | 'repair';
  readonly what: string;
  readonly at?: string;
  readonly size?: number;
}

export interface TruthEntry {
  readonly what: string;
  readonly at: string | null;
  readonly size: number;
  readonly sinceMs: number;
}

/** What a sensor does instead of measuring. */
export interface SensorFault {
  readonly kind: 'silent' | 'stuck' | 'drift';
  readonly sinceMs: number;
  readonly size: number;
}

type PlaceKind = 'head' | 'hose' | 'place' | 'gate' | 'pump' | 'source' | 'sensor';

interface Kind {
  readonly at: PlaceKind;
  readonly size: number;
  /** Largest size that means anything. */
  readonly most?: number;
  readonly says: string;
  /** Sets the plant; `size` null: back as it was. Creeping kinds get the seconds since their start at every second. */
  readonly set: (plant: Plant, index: number, size: number | null, elapsedS: number) => void;
  readonly creeps?: boolean;
  /** Normal life: nothing in the truth track. */
  readonly normal?: boolean;
}

const FADE_S = 60;
const OPEN_SHARE = 0.7;

function bore(plant: Plant, hose: number): number {
  return OPEN_SHARE * (Math.PI / 4) * plant.layout.hoses[hose]!.kit.boreM ** 2;
}

function endOf(plant: Plant, hose: number): number {
  const { to } = plant.layout.hoses[hose]!;
  return plant.layout.places.findIndex((place) => place.id === to);
}

export const KINDS: Readonly<Record<string, Kind>> = {
  'head-off': { at: 'head', size: 1, says: 'a head comes off its fitting', set: (plant, at, size) => { plant.conditions.headOff[at] = size === null ? 0 : 1; } },
  plug: { at: 'head', size: 1, most: 1, says: 'a nozzle is plugged; size: share shut', set: (plant, at, size) => { plant.conditions.headShare[at] = 1 - (size ?? 0); } },
  leak: { at: 'hose', size: 0.05, most: 1, says: "a leak at a hose's far end; size: share of its bore", set: (plant, at, size) => { plant.conditions.holeM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at); } },
  'hose-burst': { at: 'hose', size: 1, most: 1, says: "a hose parts at its far end", set: (plant, at, size) => { plant.conditions.burstM2[endOf(plant, at)] = (size ?? 0) * bore(plant, at); } },
  restriction: { at: 'hose', size: 40, says: 'a hose is kinked; size: factor on its resistance', set: (plant, at, size) => { plant.conditions.hoseFactor[at] = size ?? 1; } },
  'gate-shut': { at: 'gate', size: 0, most: 1, says: 'a gate is shut that nobody ordered shut', set: (plant, at, size) => { plant.conditions.gateOpening[at] = size ?? plant.layout.gates[at]!.opening; } },
  'pump-fade': { at: 'pump', size: 0.8, most: 1, creeps: true, says: 'the engine loses speed over a minute; size: what is left', set: (plant, at, size, elapsedS) => {
    plant.conditions.engineShare[at] = size === null ? 1 : 1 - (1 - size) * Math.min(1, elapsedS / FADE_S);
  } },
  'pump-worn': { at: 'pump', size: 0.85, most: 1, says: 'the pump makes less of its curve; size: what is left', set: (plant, at, size) => { plant.conditions.curveShare[at] = size ?? 1; } },
  'pump-stop': { at: 'pump', size: 0, says: 'the engine stops', set: (plant, at, size) => { plant.conditions.engineShare[at] = size ?? 1; } },
  'dead-head': { at: 'pump', size: 0, says: 'every gate is shut while the pump runs', set: (plant, _at, size) => { plant.conditions.allShut[0] = size === null ? 0 : 1; } },
  'suction-trouble': { at: 'pump', size: 0.9, most: 1, says: 'air gets into the suction; size: share', set: (plant, at, size) => { plant.conditions.suctionAir[at] = size ?? 0; } },
  'tank-leak': { at: 'source', size: 60, says: 'the tank leaks; size: L/min', set: (plant, at, size) => { plant.conditions.sourceLeakM3s[at] = (size ?? 0) / 60_000; } },
  'sensor-silent': { at: 'sensor', size: 1, says: 'a sensor sends nothing', set: () => undefined },
  'sensor-stuck': { at: 'sensor', size: 1, says: 'a sensor repeats its last value', set: () => undefined },
  'sensor-drift': { at: 'sensor', size: 10, says: 'a pressure sensor drifts; size: kPa a minute', set: () => undefined },
  throttle: { at: 'pump', size: 0.95, most: 1.2, normal: true, says: 'the throttle is set; size: speed over rated', set: (plant, at, size) => { if (size !== null) plant.conditions.throttle[at] = size; } },
  tender: { at: 'source', size: 700, normal: true, says: 'a tender fills the tank; size: L/min, repair ends it', set: (plant, at, size) => { plant.conditions.sourceGainM3s[at] = (size ?? 0) / 60_000; } },
  gate: { at: 'gate', size: 1, most: 1, normal: true, says: 'a gate is set by order; size: 0 shut to 1 open', set: (plant, at, size) => { if (size !== null) plant.conditions.gateOpening[at] = size; } },
};

interface Standing {
  readonly entry: TruthEntry;
  readonly kind: Kind;
  readonly index: number;
}

export class Deeds {
  readonly #plant: Plant;
  readonly #standing = new Map<string, Standing>();

  constructor(plant: Plant) {
    this.#plant = plant;
  }

  get truth(): TruthEntry[] {
    return [...this.#standing.values()].filter(({ kind }) => !kind.normal).map(({ entry }) => entry);
  }

  sensorFault(sensor: string): SensorFault | null {
    for (const kind of ['silent', 'stuck', 'drift'] as const) {
      const found = this.#standing.get(`sensor-${kind} ${sensor}`);
      if (found) return { kind, sinceMs: found.entry.sinceMs, size: found.entry.size };
    }
    return null;
  }

  /** Creeping faults go on. */
  second(nowMs: number): void {
    for (const { kind, index, entry } of this.#standing.values()) {
      if (kind.creeps) kind.set(this.#plant, index, entry.size, (nowMs - entry.sinceMs) / 1_000);
    }
  }

  /** What is wrong with a deed, or null. */
  objection(deed: Deed): string | null {
    if (!Object.hasOwn(KINDS, deed.what)) {
      const nearest = nearestWord(deed.what, Object.keys(KINDS));
      return `There is no '${deed.what}'.${nearest ? ` Did you mean ${nearest}?` : ''} Known: ${Object.keys(KINDS).join(', ')}.`;
    }
    if (deed.do !== 'start' && deed.do !== 'repair') return `'${String(deed.do)}' cannot be done: write start or repair.`;
    const kind = KINDS[deed.what]!;
    const found = find(this.#plant.layout, kind.at, deed.at);
    if (typeof found === 'string') return found;
    if (deed.size !== undefined && !(Number.isFinite(deed.size) && deed.size >= 0)) return `A size is a number from 0 up: ${kind.says}.`;
    if (deed.size !== undefined && deed.size > (kind.most ?? Infinity)) return `Size ${deed.size} is too much, ${kind.most} is the most: ${kind.says}.`;
    return null;
  }

  /** Does it, or says what is wrong with it. */
  carry(deed: Deed, nowMs: number): string | null {
    const objection = this.objection(deed);
    if (objection) return objection;
    const kind = KINDS[deed.what]!;
    const found = find(this.#plant.layout, kind.at, deed.at);
    if (typeof found === 'string') return found;
    const key = `${deed.what} ${found.id}`;
    if (deed.do === 'repair') {
      if (!this.#standing.has(key)) return `There is no ${deed.what} at ${found.id} to end.`;
      kind.set(this.#plant, found.index, null, 0);
      this.#standing.delete(key);
      return null;
    }
    const size = deed.size ?? kind.size;
    if (!kind.creeps) kind.set(this.#plant, found.index, size, 0);
    this.#standing.set(key, { entry: { what: deed.what, at: found.id, size, sinceMs: nowMs }, kind, index: found.index });
    return null;
  }
}

function find(layout: Layout, kind: PlaceKind, at: string | undefined): { readonly id: string; readonly index: number } | string {
  const lists = { head: layout.heads, hose: layout.hoses, place: layout.places, gate: layout.gates, pump: layout.pumps, source: layout.sources, sensor: layout.sensors };
  const list: readonly { readonly id: string }[] = lists[kind];
  if (at === undefined) return list.length === 1 ? { id: list[0]!.id, index: 0 } : `Say which ${kind} with --at: ${list.map((one) => one.id).join(', ')}.`;
  const index = list.findIndex((one) => one.id === at);
  return index < 0 ? `There is no ${kind} '${at}' here. ${kind[0]!.toUpperCase()}${kind.slice(1)}s: ${list.map((one) => one.id).join(', ')}.` : { id: at, index };
}
