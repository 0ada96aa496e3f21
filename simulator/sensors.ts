/**
 * What each sensor says of the plant: its own noise, standing offset, slow walk, quantisation and end of range.
 *
 * In: plant, time, faults. Out: one value in SI per sensor that is due, or nothing. Offsets are drawn once per seed
 * from the layout's `offset` (one standard deviation); noise from its `noise`; pressures walk by about 2 kPa a day,
 * drift with the air's temperature, and are rounded to 12 or 14 bits of their range.
 */
import type { Layout, Sensor } from '../config/layout/layout.ts';
import { BURST_HZ, BURST_SAMPLES, type Beats } from './beats.ts';
import type { Deeds } from './events.ts';
import { SeededRandom } from './seeded-random.ts';
import type { Plant } from './plant.ts';
import { DAMPING_S } from './shocks.ts';
import type { Wind } from './wind.ts';

export interface Sample {
  readonly sensor: Sensor;
  readonly value: number;
  readonly timeMs: number;
}

const WALK_PA_PER_ROOT_S = 2_000 / Math.sqrt(86_400);
const STEPS_OF_RANGE = [4_096, 16_384] as const;
/**
 * Share of the range that a pressure reads off for each kelvin, at most. Assumption: 0.02 % is common in data sheets.
 */
const RANGE_PER_K = 2e-4;
/** Pump ripple, aliased: a share of the pressure at the discharge, less of it in the lay. Assumption. */
const RIPPLE = 0.001;
const RIPPLE_AT_PLACES = 0.0004;

/** A shock worth a burst of its own, and how long after it the burst ends. */
const SHOCK_PA = 40_000;
const SHOCK_PASSED_MS = 2_500;
/** How fast the pressure swings after a shock: a wave speed of 200 m/s over four times 30 m of hose. */
const RING_HZ = 1.7;

interface State {
  readonly sensor: Sensor;
  readonly dice: SeededRandom;
  readonly offset: number;
  /** SI per kelvin. */
  readonly perK: number;
  readonly steps: number;
  walk: number;
  dueMs: number;
  held: number | null;
  /** What was last felt of the plant. */
  locked: number;
  shock: { readonly pa: number; readonly atMs: number } | null;
}

export class Sensors {
  readonly #plant: Plant;
  readonly #deeds: Deeds;
  readonly #beats: Beats;
  readonly #wind: Wind;
  readonly #startMs: number;
  readonly #states: State[];
  /** Sensors of the same quantity and mounting, by id. */
  readonly #alike: ReadonlyMap<string, readonly Sensor[]>;

  constructor(layout: Layout, plant: Plant, deeds: Deeds, beats: Beats, wind: Wind, seed: number, startMs: number) {
    this.#plant = plant;
    this.#deeds = deeds;
    this.#beats = beats;
    this.#wind = wind;
    this.#startMs = startMs;
    this.#alike = new Map(
      layout.sensors.map((sensor) => [
        sensor.id,
        layout.sensors.filter(
          (other) => other.quantity === sensor.quantity && other.mounting.kind === sensor.mounting.kind,
        ),
      ]),
    );
    this.#states = layout.sensors.map((sensor) => {
      const dice = SeededRandom.named(seed, `sensor ${sensor.id}`);
      const phase = sensor.intervalS > 1 ? Math.floor(dice.uniform() * sensor.intervalS) * 1_000 : 0;
      const own = SeededRandom.named(seed, `make of ${sensor.id}`);
      const perK = sensor.quantity === 'pressure' ? own.between(-1, 1) * RANGE_PER_K * (sensor.max - sensor.min) : 0;
      return {
        sensor,
        dice,
        perK,
        steps: STEPS_OF_RANGE[own.uniform() < 0.5 ? 0 : 1],
        offset: dice.normal() * sensor.offsetSd,
        walk: 0,
        dueMs: startMs + phase,
        held: null,
        locked: 0,
        shock: null,
      };
    });
  }

  /** All that is due at this second, in the order of the layout. */
  due(nowMs: number): Sample[] {
    const out: Sample[] = [];
    for (const state of this.#states) {
      if (this.#struck(state, nowMs)) out.push(...this.#burst(state, nowMs));
      if (nowMs < state.dueMs) continue;
      state.dueMs += state.sensor.intervalS * 1_000;
      if (state.sensor.quantity === 'pulse' || state.sensor.quantity === 'motion') {
        out.push(...this.#burst(state, nowMs));
        continue;
      }
      const value = this.#value(state, nowMs);
      if (value !== null)
        out.push({ sensor: state.sensor, value, timeMs: nowMs + Math.floor(state.dice.uniform() * 60) });
    }
    return out;
  }

  /** A fast sensor that feels a shock sends a burst of its own, once the wave has passed. True when it is due now. */
  #struck(state: State, nowMs: number): boolean {
    const { mounting, quantity } = state.sensor;
    if (quantity !== 'pulse' || mounting.kind !== 'place') return false;
    const shock = this.#plant.shocks.shockPa[this.#placeOf(mounting.place)]!;
    if (shock > SHOCK_PA && (state.shock === null || shock > state.shock.pa))
      state.shock = { pa: shock, atMs: nowMs - 500 };
    const due = state.shock !== null && nowMs - state.shock.atMs >= SHOCK_PASSED_MS;
    if (due) state.dueMs = Math.max(state.dueMs, nowMs + 5_000);
    return due;
  }

  /** The fast samples that end now: the line's pressure, its beats, a shock if one passed, noise. */
  #burst(state: State, nowMs: number): Sample[] {
    const { sensor, dice } = state;
    const level = this.#value(state, nowMs);
    if (level === null) return [];
    const step = (sensor.max - sensor.min) / state.steps;
    const still = this.#deeds.sensorFault(sensor.id)?.kind === 'stuck';
    const { shock } = state;
    state.shock = null;
    return [...this.#beats.burst(sensor, nowMs)].map((beat, index) => {
      const timeMs = nowMs - Math.round(((BURST_SAMPLES - 1 - index) * 1_000) / BURST_HZ);
      const sinceS = shock ? (timeMs - shock.atMs) / 1_000 : -1;
      const ring =
        shock && sinceS >= 0 ? shock.pa * Math.exp(-sinceS / DAMPING_S) * Math.cos(2 * Math.PI * RING_HZ * sinceS) : 0;
      const raw = still
        ? level
        : state.locked + state.offset + state.walk + beat + ring + dice.normal() * sensor.noiseSd;
      const value = Math.min(sensor.max, Math.max(sensor.min, Math.round(raw / step) * step));
      return { sensor, value, timeMs };
    });
  }

  #value(state: State, nowMs: number): number | null {
    const { sensor, dice } = state;
    if (sensor.quantity === 'pressure') state.walk += dice.normal() * WALK_PA_PER_ROOT_S * Math.sqrt(sensor.intervalS);
    const fault = this.#deeds.sensorFault(sensor.id);
    if (fault?.kind === 'silent' || fault?.kind === 'battery') return null;
    if (fault?.kind === 'stuck' && state.held !== null) return state.held;
    const minutes = fault ? (nowMs - fault.sinceMs) / 60_000 : 0;
    const drift = fault?.kind === 'drift' ? fault.size * 1_000 * minutes : 0;
    if (fault?.kind !== 'iced') state.locked = this.#true(this.#placed(sensor), nowMs);
    // A frozen stub keeps the pressure that was in it, and the ice presses more; the electronics go on as ever.
    const felt = fault?.kind === 'iced' ? state.locked + fault.size * 1_000 * minutes : state.locked;
    const warmth = state.perK * (this.#airC(nowMs) - this.#airC(this.#startMs));
    const raw =
      felt +
      state.offset +
      state.walk +
      warmth +
      drift +
      dice.normal() * Math.hypot(sensor.noiseSd, this.#wavesM(sensor, nowMs));
    const step = (sensor.max - sensor.min) / state.steps;
    state.held = Math.min(sensor.max, Math.max(sensor.min, Math.round(raw / step) * step));
    return state.held;
  }

  #wavesM({ mounting }: Sensor, nowMs: number): number {
    return mounting.kind === 'source'
      ? this.#wind.wavesSdM(
          this.#plant.layout.sources.findIndex(({ id }) => id === mounting.source),
          nowMs,
        )
      : 0;
  }

  /** The sensor whose place this one measures: its own, unless it or the one before it of its kind traded places. */
  #placed(sensor: Sensor): Sensor {
    const alike = this.#alike.get(sensor.id)!;
    const at = alike.indexOf(sensor);
    const [before, after] = [alike[(at + alike.length - 1) % alike.length]!, alike[(at + 1) % alike.length]!];
    if (this.#deeds.sensorFault(sensor.id)?.kind === 'swapped') return after;
    return this.#deeds.sensorFault(before.id)?.kind === 'swapped' ? before : sensor;
  }

  #true(sensor: Sensor, nowMs: number): number {
    const { layout } = this.#plant;
    const { mounting } = sensor;
    if (mounting.kind === 'air') return this.#airC(nowMs);
    if (mounting.kind === 'source')
      return this.#plant.levelM(layout.sources.findIndex((source) => source.id === mounting.source));
    if (sensor.quantity === 'motion') return 0;
    if (mounting.kind === 'place')
      return this.#pressureAt(mounting.place) * (1 + RIPPLE_AT_PLACES * Math.sin(nowMs / 137 + 1));
    const pump = layout.pumps.findIndex((candidate) => candidate.id === mounting.pump);
    if (mounting.kind === 'suction') return this.#plant.suctionPa[pump]!;
    if (mounting.kind === 'discharge')
      return this.#pressureAt(layout.pumps[pump]!.outlet) * (1 + RIPPLE * Math.sin(nowMs / 137));
    if (sensor.quantity === 'flow') return this.#plant.pumpFlowM3s[pump]!;
    if (sensor.quantity === 'fuel') return this.#plant.fuelM3[pump]!;
    return this.#plant.speedRatio[pump]! * layout.pumps[pump]!.kit.ratedRotationHz;
  }

  #airC(nowMs: number): number {
    return 18 + 8 * Math.sin((2 * Math.PI * (nowMs / 3_600_000 - 9)) / 24) - this.#plant.conditions.coolingK[0]!;
  }

  #pressureAt(place: string): number {
    return this.#plant.pressurePa[this.#placeOf(place)]!;
  }

  #placeOf(place: string): number {
    return this.#plant.layout.places.findIndex((candidate) => candidate.id === place);
  }
}
