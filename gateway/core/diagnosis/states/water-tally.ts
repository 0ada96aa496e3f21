/**
 * What each structure has received since water first ran, and for how long it was dry or nobody could say.
 *
 * In: once a second, what is believed of heads and lines. Out: m3, depth (m) over the wetted area of its heads, seconds
 * dry (no head of it gives water), low (some do, none with the pressure that turns it), short (some heads, not all,
 * give none or too little) and unknown; by zone the water put on its ground. Flows are the model's at measured
 * pressures, counted only while the line can be seen: unknown time adds no water and is never dry or wet. What a head
 * gives under its turning pressure, or while it may be off or plugged, falls beside it: it is summed apart and wets
 * nothing. Limit: depth is the mean over all its circles, no overlap, no wind; a head that flows may still not turn.
 */
import type { Layout, Zone } from '../../../../config/layout/layout.ts';
import type { HeadPicture, StructurePicture, StructureTally } from '../../../../config/wire/wire.ts';
import { spreads } from '../../hydraulics/limits.ts';
import { wettedAreaM2 } from '../../hydraulics/wetting.ts';
import { zoneWetting } from '../../hydraulics/zone-wetting.ts';

type Sums = { -readonly [K in Exclude<keyof StructureTally, 'zones'>]-?: Exclude<StructureTally[K], undefined> };

/** What was counted so far, in a form that can be written down. */
export type WaterBooks = readonly {
  readonly id: string;
  readonly sums: Readonly<Sums>;
  /** In the order of the structure's zones. */
  readonly zonesM3: readonly number[];
}[];

interface ZoneSum {
  readonly zone: Zone;
  readonly areaM2: number;
  readonly heads: readonly number[];
  receivedM3: number;
}

const NOTHING_YET: Readonly<Sums> = {
  sinceMs: null,
  receivedM3: 0,
  unspreadM3: 0,
  depthM: 0,
  dryS: 0,
  lowS: 0,
  shortS: 0,
  unknownS: 0,
};

export class WaterTally {
  readonly #structures: readonly {
    readonly id: string;
    readonly heads: readonly number[];
    readonly areaM2: number;
    readonly zones: readonly ZoneSum[];
  }[];
  readonly #sums: Map<string, Sums>;

  constructor(layout: Layout) {
    // With water at every head: the ground that each zone's heads reach together.
    const grounds = zoneWetting(layout, new Float64Array(layout.heads.length).fill(1));
    this.#structures = layout.structures.map(({ id }) => {
      const heads = layout.heads.flatMap((head, index) => (head.structure === id ? [index] : []));
      const areaM2 = heads.reduce(
        (sum, index) => sum + wettedAreaM2(layout.heads[index]!.kit.throwM, layout.heads[index]!.arcDeg),
        0,
      );
      const zones = grounds
        .filter(({ structure }) => structure === id)
        .map(({ zone, areaM2: groundM2 }): ZoneSum => ({
          zone,
          areaM2: groundM2,
          heads: heads.filter((index) => layout.heads[index]!.zone === zone),
          receivedM3: 0,
        }));
      return { id, heads, areaM2, zones };
    });
    this.#sums = new Map(layout.structures.map(({ id }) => [id, { ...NOTHING_YET }]));
  }

  /** One second of the run. */
  second(nowMs: number, heads: readonly HeadPicture[]): void {
    for (const { id, heads: own, areaM2, zones } of this.#structures) {
      const sums = this.#sums.get(id)!;
      const states = own.map((index) => heads[index]!);
      const flow = states.reduce((sum, head) => sum + (head.flowM3s ?? 0), 0);
      if (sums.sinceMs === null && flow > 0) sums.sinceMs = nowMs;
      if (sums.sinceMs === null || own.length === 0) continue;
      if (states.some(({ state, flowM3s }) => state === 'unknown' || (state !== 'dry' && flowM3s === null))) {
        sums.unknownS += 1;
        continue;
      }
      const wets = states.reduce((sum, head) => sum + spreadM3s(head), 0);
      sums.receivedM3 += wets;
      sums.unspreadM3 += flow - wets;
      for (const zone of zones) zone.receivedM3 += zone.heads.reduce((sum, index) => sum + spreadM3s(heads[index]!), 0);
      sums.depthM = sums.receivedM3 / areaM2;
      if (flow === 0) sums.dryS += 1;
      else if (wets === 0) sums.lowS += 1;
      else if (states.some((head) => spreadM3s(head) === 0)) sums.shortS += 1;
    }
  }

  get books(): WaterBooks {
    return this.#structures.map(({ id, zones }) => ({
      id,
      sums: { ...this.#sums.get(id)! },
      zonesM3: zones.map(({ receivedM3 }) => receivedM3),
    }));
  }

  /** Goes on from there; null: counts anew. */
  restore(books: WaterBooks | null): void {
    for (const { id, zones } of this.#structures) {
      const restored = books?.find((one) => one.id === id);
      this.#sums.set(id, { ...(restored?.sums ?? NOTHING_YET) });
      zones.forEach((zone, index) => (zone.receivedM3 = restored?.zonesM3[index] ?? 0));
    }
  }

  of(structure: StructurePicture): StructurePicture {
    const { zones } = this.#structures.find(({ id }) => id === structure.structure)!;
    return {
      ...structure,
      tally: {
        ...this.#sums.get(structure.structure)!,
        zones: zones.map(({ zone, areaM2, receivedM3 }) => ({ zone, areaM2, receivedM3 })),
      },
    };
  }
}

function spreadM3s({ state, flowM3s }: HeadPicture): number {
  return spreads(state) ? (flowM3s ?? 0) : 0;
}
