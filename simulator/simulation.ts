/**
 * One simulated run without a wire: plant, events, sensors and scenario, a second at a time.
 *
 * In: layout, seed, start, scenario (RangeError where it names what the layout has not). Out: what the sensors say,
 * second by second; the truth track. Deterministic: the same layout, seed and events give the same samples. Tests and
 * scores drive it; devices.ts puts it on the wire.
 */
import type { Layout, Sensor } from '../config/layout/layout.ts';
import { Beats } from './beats.ts';
import { Deeds, type Deed, type TruthEntry } from './events.ts';
import { Plant } from './plant.ts';
import { Post } from './link-model.ts';
import type { Scenario } from './scenario.ts';
import { Sensors, type Sample } from './sensors.ts';
import { Wind } from './wind.ts';

export interface SimulationOptions {
  readonly seed: number;
  /** Whole second, milliseconds since 1970. */
  readonly startMs: number;
  readonly scenario: Scenario;
}

export class Simulation {
  readonly plant: Plant;
  readonly beats: Beats;
  nowMs: number;
  readonly #deeds: Deeds;
  readonly #sensors: Sensors;
  readonly #post: Post;
  readonly #startMs: number;
  readonly #timeline: Scenario['timeline'];
  #next = 0;

  constructor(layout: Layout, options: SimulationOptions) {
    const beyond = beyondThePlant(layout);
    if (beyond) throw new RangeError(beyond);
    this.plant = new Plant(layout, options.seed);
    this.#deeds = new Deeds(this.plant);
    const wind = new Wind(layout, this.plant, options.seed);
    this.beats = new Beats(layout, this.plant, wind, options.seed, options.scenario.beat ?? 0);
    this.#sensors = new Sensors(layout, this.plant, this.#deeds, this.beats, wind, options.seed, options.startMs);
    this.#post = new Post(options.seed, options.startMs, options.scenario.telemetry ?? 'tidy');
    this.#startMs = options.startMs;
    this.nowMs = options.startMs - 1_000;
    this.#timeline = options.scenario.timeline;
    for (const { afterS, deed, where } of this.#timeline) {
      const objection = this.#deeds.objection(deed);
      if (objection)
        throw new RangeError(
          `${where ?? `Scenario ${options.scenario.name}: timeline`}.${objection.field}, at ${afterS} ` +
            `s: ${objection.words}`,
        );
    }
    if (options.scenario.begins === 'running') this.plant.prime(options.scenario.throttle);
  }

  get truth(): TruthEntry[] {
    return this.#deeds.truth;
  }

  /** Whether nothing of this sensor gets through for minutes: a gap on its road, or its battery is being swapped. */
  unheard(sensor: Sensor): boolean {
    return this.#post.gapped(sensor.device) || this.#deeds.sensorFault(sensor.id)?.kind === 'battery';
  }

  /** Null when done, or a sentence on what would be right. */
  carry(deed: Deed): string | null {
    return this.#deeds.carry(deed, this.nowMs);
  }

  /** Moves on by one second and gives what arrives by its end of what the sensors said. */
  second(): Sample[] {
    this.nowMs += 1_000;
    while (
      this.#next < this.#timeline.length &&
      this.#startMs + this.#timeline[this.#next]!.afterS * 1_000 <= this.nowMs
    ) {
      this.#deeds.carry(this.#timeline[this.#next]!.deed, this.nowMs);
      this.#next += 1;
    }
    this.#deeds.second(this.nowMs);
    this.plant.advance(1);
    return this.#post.pass(this.#sensors.due(this.nowMs), this.nowMs);
  }
}

/** What this plant has no physics for, in a sentence; null: it can play the site. */
function beyondThePlant({ sources, pumps, hoses }: Layout): string | null {
  const mains = sources.find((source) => source.mains !== null);
  if (mains)
    return (
      `${mains.id} is a hydrant or tap: the simulator has no physics for one. Rig a tank or open water ` +
      'to play this site.'
    );
  const boosting = pumps.find((pump) => pump.inlet !== null);
  if (boosting) return `${boosting.id} boosts another pump: the simulator has no physics for that.`;
  const holding = pumps.find((pump) => pump.holdsPa !== null);
  if (holding) return `${holding.id} holds a pressure that the layout sets: the simulator's governor has its own.`;
  const relief = pumps.find((pump) => pump.relief !== null);
  if (relief) return `${relief.id} has a relief valve: the simulator has no physics for one.`;
  const weeping = hoses.find((hose) => hose.kit.weepKPerM);
  return weeping ? `${weeping.id} weeps: the simulator has no physics for a percolating hose.` : null;
}
