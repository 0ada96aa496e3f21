/**
 * Warnings that are true whenever they come, so that nobody counts them as false: water and fuel do run down, a tender
 * does fill a tank to its rim, a pump that has emptied its tank draws air, a road that is cut for minutes is silent,
 * and a shock did pass that light heads do not stand.
 *
 * In: layout and simulation, a second at a time; a verdict. Out: whether the plant bears it out.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Alarm } from '../../config/wire/wire.ts';
import type { Simulation } from '../../simulator/simulation.ts';
import { depthOf } from '../../simulator/vessel.ts';
import { reachableM3 } from './fault-draws.ts';

/** A road that is whole again still needs the next reading, and it may lose some. */
const MENDED_S = 70;
const MENDED_READINGS = 4;
/** The last of it comes with air. */
const NOTHING_M3 = 0.02;
const FULL_SHARE = 0.975;
/** A sensor at the end of the line and a head on the way there feel not quite the same. */
const SHOCK_SHARE = 0.8;

export class TrueWarnings {
  readonly #layout: Layout;
  readonly #simulation: Simulation;
  /** Highest pressure ever at any place of a line, shocks included, by line. */
  readonly #topPa = new Map<string, number>();
  readonly #places: ReadonlyMap<string, readonly number[]>;
  /** Last second in which nothing of a sensor came through, or would have; by sensor. */
  readonly #cutS = new Map<string, number>();
  #second = 0;

  constructor(layout: Layout, simulation: Simulation) {
    this.#layout = layout;
    this.#simulation = simulation;
    const placeOf = (id: string): number => layout.places.findIndex((place) => place.id === id);
    this.#places = new Map(
      layout.lines.map(({ id }) => [
        id,
        layout.hoses.filter(({ line }) => line === id).flatMap(({ from, to }) => [placeOf(from), placeOf(to)]),
      ]),
    );
  }

  /** `away`: the gateway does not listen, so that no road is mended for it. */
  second(away = false): void {
    const { pressurePa, shocks } = this.#simulation.plant;
    for (const [line, places] of this.#places) {
      const top = Math.max(...places.map((place) => pressurePa[place]! + shocks.shockPa[place]!));
      if (top > (this.#topPa.get(line) ?? 0)) this.#topPa.set(line, top);
    }
    this.#second += 1;
    for (const sensor of this.#layout.sensors) {
      const cutS = this.#cutS.get(sensor.id);
      if (this.#simulation.unheard(sensor)) this.#cutS.set(sensor.id, this.#second);
      else if (away && cutS !== undefined) this.#cutS.set(sensor.id, cutS + 1);
    }
  }

  bearsOut({ cause, subject }: Alarm['verdict']): boolean {
    if (cause === 'tank-low' || cause === 'fuel-low') return true;
    if (cause === 'tank-overfull') return this.#isFull(subject);
    if (cause === 'shock') return this.#struck(subject);
    if (cause === 'suction-trouble') return this.#isEmpty(subject);
    if (cause !== 'sensor-silent') return false;
    const named = this.#layout.sensors.filter(({ id, device }) => id === subject || device === subject);
    const meant = named.length > 0 ? named : this.#layout.sensors;
    return meant.some(
      ({ id, intervalS }) =>
        this.#second - (this.#cutS.get(id) ?? -Infinity) < Math.max(MENDED_S, MENDED_READINGS * intervalS),
    );
  }

  #isFull(source: string): boolean {
    const index = this.#layout.sources.findIndex(({ id }) => id === source);
    const { shape } = this.#layout.sources[index]!;
    return shape.kind !== 'open-water' && this.#simulation.plant.levelM(index) > FULL_SHARE * depthOf(shape);
  }

  #isEmpty(pump: string): boolean {
    const { source } = this.#layout.pumps.find(({ id }) => id === pump)!;
    return (
      reachableM3(
        this.#simulation.plant,
        this.#layout.sources.findIndex(({ id }) => id === source),
      ) <= NOTHING_M3
    );
  }

  #struck(line: string): boolean {
    const weakestPa = Math.min(
      ...this.#layout.heads.filter((head) => head.line === line && head.kit.light).map(({ kit }) => kit.survivesPa),
    );
    return (this.#topPa.get(line) ?? 0) > SHOCK_SHARE * weakestPa;
  }
}
