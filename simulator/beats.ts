/**
 * The beat of impact heads as a fast sensor at the end of their line would feel it, in bursts of 128 samples at 32 Hz.
 *
 * In: plant, layout, strength of the beat, the sensor's place. Out: Pa to add to a fast pressure, m/s2 for a motion
 * sensor (SHAKE at the head). The arm comes back after about 2 sqrt(2 theta I / T), T in proportion to pressure (after
 * Kincaid, Trans. ASAE 34(6) 2397 (1991)): 1.2 to 3.6 Hz at 300 kPa, each head its own, 3 % of jitter, a third weaker
 * every 10 m of hose. Unverified: no published figure says how strongly a beat shows. `strength` is a share of the
 * pressure at the nozzle, from 0 (not at all) to 0.02 (plain).
 */
import type { Layout, Sensor } from '../config/layout/layout.ts';
import { SeededRandom } from './seeded-random.ts';
import type { Plant } from './plant.ts';
import type { Wind } from './wind.ts';

export const BURST_SAMPLES = 128;
export const BURST_HZ = 32;

const RATE_HZ = [1.2, 3.6] as const;
const RATE_AT_PA = 300_000;
const JITTER = 0.03;
const FADE_M = { pulse: 25, motion: 8 } as const;
/** m/s2 at the head itself, for a strength of 1: 2 m/s2 where the beat is plain. Assumption. */
const SHAKE_MPS2 = 100;
const TURN_S = [20, 60] as const;
const SWELL = 0.3;
/** Second harmonic of the strike, as a share of the first. Assumption. */
const HARMONIC = 0.4;
/** Below this share of its least turning pressure the arm does not come free. */
const LEAST_SHARE = 0.8;

export class Beats {
  readonly #plant: Plant;
  readonly #layout: Layout;
  readonly #seed: number;
  readonly #strength: number;
  readonly #wind: Wind;

  constructor(layout: Layout, plant: Plant, wind: Wind, seed: number, strength: number) {
    this.#layout = layout;
    this.#plant = plant;
    this.#seed = seed;
    this.#strength = strength;
    this.#wind = wind;
  }

  /** Strikes a second that a head makes now; 0: it does not beat. */
  rateHz(head: number): number {
    const { kit, id, at, elevationM } = this.#layout.heads[head]!;
    const { headStalled, headOff, headTaken, headShare } = this.#plant.conditions;
    if (kit.family !== 'impact' || headStalled[head] || headOff[head] || headTaken[head] || headShare[head]! < 0.5)
      return 0;
    const place = this.#layout.places.findIndex((one) => one.id === at);
    const nozzlePa = this.#plant.pressurePa[place]! - 9_800 * (elevationM - this.#layout.places[place]!.elevationM);
    if (this.#plant.headFlowM3s[head]! <= 0 || nozzlePa < LEAST_SHARE * kit.turnPaMin) return 0;
    return SeededRandom.named(this.#seed, `beat ${id}`).between(...RATE_HZ) * Math.sqrt(nozzlePa / RATE_AT_PA);
  }

  /** What the heads of the sensor's own line add to the pressure there, over the burst that ends at `nowMs`. */
  burst(sensor: Sensor, nowMs: number): Float64Array {
    const out = new Float64Array(BURST_SAMPLES);
    if (this.#strength <= 0) return out;
    this.#layout.heads.forEach((head, index) => {
      const rate = head.line === sensor.line ? this.rateHz(index) : 0;
      if (rate > 0) this.#addHead(out, index, rate, sensor, nowMs);
    });
    return out;
  }

  #addHead(out: Float64Array, index: number, rate: number, sensor: Sensor, nowMs: number): void {
    const head = this.#layout.heads[index]!;
    const dice = SeededRandom.named(this.#seed, `strikes ${head.id} ${nowMs / 1_000}`);
    const turnS = SeededRandom.named(this.#seed, `turn ${head.id}`).between(...TURN_S);
    const place = this.#layout.places.findIndex((one) => one.id === head.at);
    const reachM = sensor.mounting.kind === 'place' ? this.#distanceM(head.at, sensor.mounting.place) : 0;
    const kind = sensor.quantity === 'motion' ? 'motion' : 'pulse';
    const amplitude =
      this.#strength *
      (kind === 'motion' ? SHAKE_MPS2 : this.#plant.pressurePa[place]!) *
      Math.exp(-reachM / FADE_M[kind]);
    const jitter = Math.hypot(JITTER, this.#wind.jitter(nowMs));
    let phase = dice.uniform();
    let pace = 1 + jitter * dice.normal();
    for (let sample = 0; sample < out.length; sample += 1) {
      const turn = (nowMs / 1_000 + sample / BURST_HZ) / turnS;
      phase += (rate * pace * this.#wind.paceAt(turn, nowMs)) / BURST_HZ;
      if (phase >= 1) {
        phase -= 1;
        pace = 1 + jitter * dice.normal();
      }
      const swell = 1 + SWELL * Math.cos(2 * Math.PI * turn);
      out[sample]! += amplitude * swell * (Math.cos(2 * Math.PI * phase) + HARMONIC * Math.cos(4 * Math.PI * phase));
    }
  }

  /** Along the hoses of a line, which has no loop: whichever of the two lies further out. */
  #distanceM(from: string, to: string): number {
    const outwards = (start: string, goal: string): number | null => {
      if (start === goal) return 0;
      for (const hose of this.#layout.hoses) {
        if (hose.from !== start || hose.line === null) continue;
        const rest = outwards(hose.to, goal);
        if (rest !== null) return hose.lengthM + rest;
      }
      return null;
    };
    return outwards(from, to) ?? outwards(to, from) ?? 0;
  }
}
