/**
 * The lay in motion: pump, hoses that fill and stretch, heads as orifices, tank and fuel.
 *
 * Parts (plant/): engines, waters, pumps, lines, outlets, and the water balance of the places that joins them. In:
 * conditions, seconds. Out: gauge pressure at every place, filled share of every hose, engine speed, m3. The same
 * layout, seed and conditions give the same numbers.
 * Limit: no column separation; what drains back comes out of the stretch of the hoses, which stay full; pressure waves
 * are smeared over a step.
 */
import type { Layout } from '../config/layout/layout.ts';
import { healthy, type Conditions } from './conditions.ts';
import { Engines } from './plant/engines.ts';
import { Lines } from './plant/lines.ts';
import { Outlets } from './plant/outlets.ts';
import { Pumps } from './plant/pumps.ts';
import { WaterBalance } from './plant/water-balance.ts';
import { Waters } from './plant/waters.ts';
import { Shocks } from './shocks.ts';
import { trueLay } from './truth.ts';

const STEP_S = 0.25;
/** Above this speed a pump has water at its outlet. */
const WETTING_SPEED = 0.05;

export class Plant {
  readonly layout: Layout;
  readonly conditions: Conditions;
  readonly shocks: Shocks;
  readonly #engines: Engines;
  readonly #waters: Waters;
  readonly #balance: WaterBalance;
  readonly #lines: Lines;
  readonly #outlets: Outlets;
  readonly #pumps: Pumps;
  readonly #place: ReadonlyMap<string, number>;

  constructor(layout: Layout, seed: number) {
    this.layout = layout;
    const truth = trueLay(layout, seed);
    this.#place = new Map(layout.places.map((place, index) => [place.id, index]));
    const placeOf = (id: string): number => this.#place.get(id)!;
    this.conditions = healthy(layout);
    this.shocks = new Shocks(layout);
    this.#engines = new Engines(layout, this.conditions);
    this.#waters = new Waters(layout, this.conditions);
    this.#balance = new WaterBalance(truth);
    this.#lines = new Lines(truth.hoses, layout, placeOf, this.conditions, this.#balance);
    this.#outlets = new Outlets(truth.heads, this.conditions, this.#balance);
    this.#pumps = new Pumps(layout, truth, placeOf, {
      conditions: this.conditions,
      engines: this.#engines,
      waters: this.#waters,
      balance: this.#balance,
    });
  }

  get pressurePa(): Float64Array {
    return this.#balance.pressurePa;
  }

  get filled(): Float64Array {
    return this.#lines.filled;
  }

  get speedRatio(): Float64Array {
    return this.#engines.speedRatio;
  }

  get fuelM3(): Float64Array {
    return this.#engines.fuelM3;
  }

  get pumpFlowM3s(): Float64Array {
    return this.#pumps.flowM3s;
  }

  get suctionPa(): Float64Array {
    return this.#pumps.suctionPa;
  }

  get volumeM3(): Float64Array {
    return this.#waters.volumeM3;
  }

  get headFlowM3s(): Float64Array {
    return this.#outlets.headFlowM3s;
  }

  get holeFlowM3s(): number {
    return this.#outlets.holeFlowM3s;
  }

  levelM(source: number): number {
    return this.#waters.levelM(source);
  }

  /** Starts in the middle of a run: hoses full, pump at its throttle. */
  prime(throttle: number): void {
    this.filled.fill(1);
    this.#balance.wet.fill(1);
    this.conditions.throttle.fill(throttle);
    this.speedRatio.fill(throttle);
    for (let second = 0; second < 90; second += 1) this.advance(1);
    this.shocks.calm();
  }

  advance(seconds: number): void {
    for (let left = seconds; left > 1e-9; left -= STEP_S) this.#step(Math.min(STEP_S, left));
  }

  #step(dt: number): void {
    this.#turnEngines(dt);
    this.#lines.spreadWet();
    for (const rubbing of [this.#lines, this.#outlets, this.#pumps]) rubbing.rub();
    this.#balance.solve(dt, () => {
      for (const flowing of [this.#lines, this.#outlets, this.#pumps]) flowing.add();
    });
    this.#lines.fill(dt);
    this.#waters.settle(dt, this.pumpFlowM3s);
    this.shocks.step(this.#lines.flowM3s, dt);
  }

  #turnEngines(dt: number): void {
    const outletOf = ({ outlet }: Layout['pumps'][number]): number => this.#place.get(outlet)!;
    this.#engines.turn(dt, (pump) => this.pressurePa[outletOf(pump)]!);
    this.layout.pumps.forEach((pump, index) => {
      if (this.speedRatio[index]! > WETTING_SPEED) this.#balance.wet[outletOf(pump)] = 1;
    });
  }
}
