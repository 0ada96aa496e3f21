/**
 * Water, pump and tank over a whole run: what each zone got, how long pumps ran on how much fuel, how low tanks fell.
 *
 * In: recorded pictures in order; minute means of the fuel gauges. Out: m3, m of depth, seconds. A head's modelled flow
 * holds until the next picture and counts only while its state is known and its water counts as wetting (not under
 * turning pressure, not while it may be off or plugged); depth is over the ground that the zone's heads reach together.
 * Fuel used is first minus last plus what refuelling added. Limit: modelled flow at measured pressure; wind, and
 * whether a head turns, are not in it.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { PumpFigures, StructureWater, TankFigures, ZoneWater } from '../../config/wire/review.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { spreads } from '../core/hydraulics/limits.ts';
import { zoneWetting } from '../core/hydraulics/zone-wetting.ts';
import { HOLE_MS } from './up-times.ts';

/** Judgement: a fuel gauge that rises by this share of the tank within minutes was filled up. */
const REFUEL_SHARE = 0.08;

type Writable<Row> = { -readonly [K in keyof Row]: Row[K] };

export class WaterBooks {
  readonly #layout: Layout;
  readonly #zones: readonly { readonly row: Writable<ZoneWater>; readonly heads: readonly string[] }[];
  readonly #pumps: readonly Writable<PumpFigures>[];
  readonly #tanks: readonly Writable<TankFigures>[];
  readonly #running = new Map<string, boolean>();
  #tallies: Picture['structures'] = [];

  constructor(layout: Layout) {
    this.#layout = layout;
    const all = new Float64Array(layout.heads.length).fill(1);
    this.#zones = zoneWetting(layout, all).map(({ structure, zone, areaM2 }) => ({
      row: { structure, zone, areaM2, volumeM3: 0, depthM: 0, unknownS: 0 },
      heads: layout.heads.filter((head) => head.structure === structure && head.zone === zone).map(({ id }) => id),
    }));
    this.#pumps = layout.pumps.map(({ id }) => ({
      pump: id,
      runS: 0,
      fillingS: 0,
      shutInS: 0,
      unknownS: 0,
      starts: 0,
      fuelUsedM3: null,
      refuelled: 0,
    }));
    this.#tanks = layout.sources.map(({ id }) => ({
      source: id,
      leastM3: null,
      leastMs: null,
      firstM3: null,
      lastM3: null,
    }));
  }

  hold(picture: Picture, toMs: number): void {
    const isHole = toMs - picture.atMs > HOLE_MS;
    const seconds = (toMs - picture.atMs) / 1_000;
    if (picture.structures.some(({ tally }) => tally !== null)) this.#tallies = picture.structures;
    const heads = new Map(picture.heads.map((head) => [head.head, head]));
    for (const { row, heads: own } of this.#zones) {
      const states = own.map((id) => heads.get(id));
      if (
        isHole ||
        states.some((head) => !head || head.state === 'unknown' || (head.state !== 'dry' && head.flowM3s === null))
      ) {
        row.unknownS += seconds;
        continue;
      }
      row.volumeM3 +=
        seconds * states.reduce((sum, head) => sum + (head && spreads(head.state) ? (head.flowM3s ?? 0) : 0), 0);
      row.depthM = row.volumeM3 / row.areaM2;
    }
    for (const row of this.#pumps)
      this.#holdPump(
        row,
        isHole ? 'unknown' : (picture.pumps.find(({ pump }) => pump === row.pump)?.state ?? 'unknown'),
        seconds,
      );
    for (const row of this.#tanks) {
      const volumeM3 = picture.supplies.find(({ source }) => source === row.source)?.volumeM3 ?? null;
      if (volumeM3 === null) continue;
      row.firstM3 ??= volumeM3;
      row.lastM3 = volumeM3;
      if (row.leastM3 !== null && row.leastM3 <= volumeM3) continue;
      row.leastM3 = volumeM3;
      row.leastMs = picture.atMs;
    }
  }

  #holdPump(row: Writable<PumpFigures>, state: Picture['pumps'][number]['state'], seconds: number): void {
    if (state === 'unknown') {
      row.unknownS += seconds;
      return;
    }
    const runs = state !== 'stopped';
    if (runs && this.#running.get(row.pump) === false) row.starts += 1;
    this.#running.set(row.pump, runs);
    if (runs) row.runS += seconds;
    if (state === 'starting') row.fillingS += seconds;
    if (state === 'dead-head') row.shutInS += seconds;
  }

  /** Minute means of a pump's fuel gauge, in order. */
  fuel(pump: string, meansM3: readonly number[]): void {
    const row = this.#pumps.find((one) => one.pump === pump);
    const capacityM3 = this.#layout.pumps.find(({ id }) => id === pump)?.fuelCapacityM3;
    if (!row || capacityM3 === undefined || meansM3.length < 2) return;
    let usedM3 = 0;
    let startM3 = meansM3[0]!;
    let leastM3 = startM3;
    let pouring = false;
    for (const meanM3 of meansM3) {
      leastM3 = Math.min(leastM3, meanM3);
      const rising = meanM3 - leastM3 >= REFUEL_SHARE * capacityM3;
      // A can is poured in over several minutes: one refuelling.
      if (rising && !pouring) row.refuelled += 1;
      pouring = rising;
      if (!rising) continue;
      usedM3 += startM3 - leastM3;
      startM3 = meanM3;
      leastM3 = meanM3;
    }
    row.fuelUsedM3 = Math.max(0, usedM3 + startM3 - Math.min(startM3, meansM3.at(-1)!));
  }

  get zones(): ZoneWater[] {
    return this.#zones.map(({ row }) => ({ ...row }));
  }

  get pumps(): PumpFigures[] {
    return this.#pumps.map((row) => ({ ...row }));
  }

  get tanks(): TankFigures[] {
    return this.#tanks.map((row) => ({ ...row }));
  }

  /** `frontMs`: when the front arrived at it, as people entered; null: they did not. */
  structures(frontMs: (structure: string) => number | null): StructureWater[] {
    return this.#layout.structures.map(({ id }) => {
      const tally = this.#tallies.find(({ structure }) => structure === id)?.tally ?? null;
      const firstWaterMs = tally?.sinceMs ?? null;
      const front = frontMs(id);
      return {
        structure: id,
        firstWaterMs,
        receivedM3: tally?.receivedM3 ?? null,
        dryS: tally?.dryS ?? null,
        // None of its heads with turning pressure, or some.
        shortS: tally === null ? null : tally.shortS + (tally.lowS ?? 0),
        unknownS: tally?.unknownS ?? null,
        leadS: front === null || firstWaterMs === null ? null : (front - firstWaterMs) / 1_000,
      };
    });
  }
}
