/**
 * Everything that can be done to the plant while it runs: faults by the names of their causes, and normal life.
 *
 * In: a deed {do, what, at, size}. Out: null when done, or a sentence that says what would be right. A started fault is
 * kept in the truth track with its time until it is repaired. What each does and what its size means: faults/
 */
import type { Layout } from '../config/layout/layout.ts';
import { nearestWord } from '../config/spelling.ts';
import type { EventKind, PlaceKind } from './faults/event-kind.ts';
import { EVENT_KINDS } from './faults/faults.ts';
import { copyOf, Mending } from './mending.ts';
import type { Plant } from './plant.ts';

export interface Deed {
  readonly do: 'start' | 'repair';
  readonly what: string;
  readonly at?: string;
  readonly size?: number;
  /** A repair that takes so many seconds; without it, at once. */
  readonly overS?: number;
}

export interface TruthEntry {
  readonly what: string;
  readonly at: string | null;
  readonly size: number;
  readonly sinceMs: number;
}

/** In the order in which one hides another. */
const SENSOR_FAULTS = ['silent', 'battery', 'stuck', 'iced', 'drift', 'swapped'] as const;
type SensorFaultKind = (typeof SENSOR_FAULTS)[number];

/** What a sensor does instead of measuring. */
export interface SensorFault {
  readonly kind: SensorFaultKind;
  readonly sinceMs: number;
  readonly size: number;
}

interface Standing {
  readonly entry: TruthEntry;
  readonly kind: EventKind;
  readonly index: number;
  /** It is being repaired. */
  readonly mending: { readonly sinceMs: number; readonly course: Mending } | null;
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
    for (const kind of SENSOR_FAULTS) {
      const found = this.#standing.get(`sensor-${kind} ${sensor}`);
      if (found) return { kind, sinceMs: found.entry.sinceMs, size: found.entry.size };
    }
    return null;
  }

  /** Creeping faults go on. */
  second(nowMs: number): void {
    for (const [key, { kind, index, entry, mending }] of this.#standing) {
      if (mending) {
        if (mending.course.second((nowMs - mending.sinceMs) / 1_000)) this.#standing.delete(key);
        continue;
      }
      const elapsedS = (nowMs - entry.sinceMs) / 1_000;
      if (kind.endsAfterS && elapsedS >= kind.endsAfterS(entry.size)) {
        kind.set(this.#plant, index, null, 0);
        this.#standing.delete(key);
      } else if (kind.creeps) kind.set(this.#plant, index, entry.size, elapsedS);
    }
  }

  /** What is wrong with which field of a deed, or null. */
  objection(deed: Deed): { readonly field: keyof Deed; readonly words: string } | null {
    const wrong = (field: keyof Deed, words: string): { readonly field: keyof Deed; readonly words: string } => ({
      field,
      words,
    });
    if (!Object.hasOwn(EVENT_KINDS, deed.what)) {
      const nearest = nearestWord(deed.what, Object.keys(EVENT_KINDS));
      return wrong(
        'what',
        `There is no '${deed.what}'.${nearest ? ` Did you mean ${nearest}?` : ''} Known: ` +
          `${Object.keys(EVENT_KINDS).join(', ')}.`,
      );
    }
    if (deed.do !== 'start' && deed.do !== 'repair')
      return wrong('do', `'${String(deed.do)}' cannot be done: write start or repair.`);
    const kind = EVENT_KINDS[deed.what]!;
    const found = find(this.#plant.layout, kind.at, deed.at);
    if (typeof found === 'string') return wrong('at', found);
    if (deed.size !== undefined && !(Number.isFinite(deed.size) && deed.size >= 0))
      return wrong('size', `A size is a number from 0 up: ${kind.says}.`);
    if (deed.size !== undefined && deed.size > (kind.most ?? Infinity))
      return wrong('size', `Size ${deed.size} is too much, ${kind.most} is the most: ${kind.says}.`);
    if (deed.overS !== undefined && (deed.do === 'start' || !(Number.isFinite(deed.overS) && deed.overS >= 0)))
      return wrong('overS', 'Only a repair takes time: seconds from 0 up.');
    return null;
  }

  /** Does it, or says what is wrong with it. */
  carry(deed: Deed, nowMs: number): string | null {
    const objection = this.objection(deed);
    if (objection) return objection.words;
    const kind = EVENT_KINDS[deed.what]!;
    const found = find(this.#plant.layout, kind.at, deed.at);
    if (typeof found === 'string') return found;
    const key = `${deed.what} ${found.id}`;
    if (deed.do === 'repair') {
      return this.#repair(key, deed, nowMs);
    }
    const size = deed.size ?? kind.size;
    kind.set(this.#plant, found.index, size, 0);
    this.#standing.set(key, {
      entry: { what: deed.what, at: found.id, size, sinceMs: nowMs },
      kind,
      index: found.index,
      mending: null,
    });
    return null;
  }

  #repair(key: string, { what, overS = 0 }: Deed, nowMs: number): string | null {
    const standing = this.#standing.get(key);
    if (!standing) return `There is no ${what} at ${key.slice(what.length + 1)} to end.`;
    const { conditions } = this.#plant;
    const before = copyOf(conditions);
    standing.kind.set(this.#plant, standing.index, null, 0);
    if (overS === 0) this.#standing.delete(key);
    else
      this.#standing.set(key, {
        ...standing,
        mending: { sinceMs: nowMs, course: new Mending(conditions, before, overS) },
      });
    return null;
  }
}

function find(
  layout: Layout,
  kind: PlaceKind,
  at: string | undefined,
): { readonly id: string; readonly index: number } | string {
  const lists = {
    line: layout.lines,
    head: layout.heads,
    hose: layout.hoses,
    place: layout.places,
    gate: layout.gates,
    pump: layout.pumps,
    source: layout.sources,
    sensor: layout.sensors,
    site: [{ id: layout.site }],
  };
  const list: readonly { readonly id: string }[] = lists[kind];
  if (at === undefined)
    return list.length === 1
      ? { id: list[0]!.id, index: 0 }
      : `Say which ${kind} with --at: ${list.map((one) => one.id).join(', ')}.`;
  const index = list.findIndex((one) => one.id === at);
  return index < 0
    ? `There is no ${kind} '${at}' here. ${kind[0]!.toUpperCase()}${kind.slice(1)}s: ` +
        `${list.map((one) => one.id).join(', ')}.`
    : { id: at, index };
}
