/**
 * The beat of a line's impact heads in bursts of fast pressure: learned at a baseline, missed when a head stalls.
 *
 * In: bursts of one channel (Pa, or m/s2 of a motion sensor), the line's pressure, the time of a baseline. Out: beats
 * that the baseline showed, and which are gone. Method: each burst is detrended and windowed; its power over that of
 * the sensor's noise is 1 on average where nothing beats and passes z with probability exp(-z) (Scargle, Astrophysical
 * Journal 263 (1982) 835, from memory). Rates go with the root of the pressure. Only peaks in every burst of the
 * line's own baseline count. Limit: heads of nearly the same rate look like one, and one of them may stop unseen.
 */
import type { Sample } from '../../telemetry/channel.ts';

export interface Lost {
  readonly beats: number;
  readonly of: number;
  /** End of the last burst that still held the first of them. */
  readonly sinceMs: number;
}

interface Burst {
  readonly atMs: number;
  readonly pressurePa: number;
  /** Power over that of noise, by rate of the grid. */
  readonly power: Float64Array;
}

interface Beat {
  readonly at: number;
  readonly power: number;
  lastMs: number;
  lost: boolean;
}

const LOWEST_HZ = 0.5;
const HIGHEST_HZ = 6;
/** Half the resolution of a four-second burst: a rate between two bins is not missed. */
export const STEP_HZ = 0.125;
const RATES = Float64Array.from(
  { length: Math.round((HIGHEST_HZ - LOWEST_HZ) / STEP_HZ) + 1 },
  (_, i) => LOWEST_HZ + i * STEP_HZ,
);
export const LEAST_SAMPLES = 96;
export const LEARN_MS = 300_000;
/** Judgement: bursts at pressures this close are heard together. */
export const ALIKE_SHARE = 0.05;
const LEAST_BURSTS = 3;
/** Of a mean over bursts: one in 10^13 for a single one of noise. */
const CLEAR = 30;
/**
 * Judgement: a weaker peak may be the skirt of a beat that wavers: so much of its power half a hertz away, less with
 * the square of the distance.
 */
const SKIRT_SHARE = 0.03;
const SKIRT_HZ = 0.5;
const LEAST_SHARE = 0.004;
/**
 * Judgements. A beat that is used never fell below this share of its mean at the baseline; one that is lost stays below
 * GONE for so many bursts.
 */
const STEADY_SHARE = 0.3;
export const GONE_SHARE = 0.1;
const GONE_BURSTS = 4;
export const BACK_SHARE = 0.3;
/** A peak at twice the rate of one this much stronger is its overtone. */
const OVERTONE = 2.5;
/** Judgement: away from the pressure of the baseline heads may rightly beat otherwise. */
export const PRESSURE_SHARE = 0.35;
/** Sensors are noisier than their sheet. */
const NOISE_MARGIN = 1.3;

export class LineRhythm {
  readonly #noiseSd: number;
  readonly #heads: number;
  #bursts: Burst[] = [];
  #referencePa = NaN;
  #beats: Beat[] = [];
  #spectra: Float64Array[] = [];

  /** `heads`: how many of the line beat at all. */
  constructor(noiseSd: number, heads: number) {
    this.#noiseSd = noiseSd;
    this.#heads = heads;
  }

  /** Beats that the baseline showed; 0: a stall cannot be seen on this line. */
  get known(): number {
    return this.#beats.length;
  }

  /** Rates of these beats at the pressure of the baseline, Hz. */
  get ratesHz(): number[] {
    return this.#beats.map(({ at }) => RATES[at]!);
  }

  get lost(): Lost | null {
    const lost = this.#beats.filter((beat) => beat.lost);
    return lost.length === 0
      ? null
      : { beats: lost.length, of: this.#beats.length, sinceMs: Math.min(...lost.map(({ lastMs }) => lastMs)) };
  }

  /** A burst that has ended, samples in order of time, and the line's pressure in it. */
  hear(samples: readonly Sample[], pressurePa: number): void {
    const last = samples.at(-1);
    if (!last || samples.length < LEAST_SAMPLES) return;
    const stretch = Number.isNaN(this.#referencePa) ? 1 : Math.sqrt(Math.max(pressurePa, 1) / this.#referencePa);
    const burst = {
      atMs: last.atMs,
      pressurePa,
      power: powers(
        samples,
        RATES.map((rate) => rate * stretch),
        this.#noiseSd * NOISE_MARGIN,
      ),
    };
    this.#bursts = [...this.#bursts.filter(({ atMs }) => atMs > last.atMs - LEARN_MS), burst];
    this.#follow(burst);
  }

  /** Every head has been seen turning: what beats now is how it should beat. */
  learn(nowMs: number): void {
    const bursts = this.#bursts.filter(({ atMs }) => atMs > nowMs - LEARN_MS);
    this.#beats = [];
    this.#referencePa = NaN;
    if (bursts.length < LEAST_BURSTS) return;
    const newest = bursts.at(-1)!;
    const alike = bursts.filter(({ pressurePa }) => Math.abs(pressurePa / newest.pressurePa - 1) < ALIKE_SHARE);
    if (alike.length < LEAST_BURSTS) return;
    const mean = RATES.map((_, i) => alike.reduce((sum, { power }) => sum + power[i]!, 0) / alike.length);
    const peaks = [...mean.keys()].filter(
      (i) => mean[i]! > CLEAR && mean[i]! >= (mean[i - 1] ?? 0) && mean[i]! > (mean[i + 1] ?? 0),
    );
    const skirt = (i: number): number =>
      Math.max(
        ...peaks.map((other) =>
          other === i
            ? 0
            : Math.max(LEAST_SHARE, SKIRT_SHARE * (SKIRT_HZ / (RATES[i]! - RATES[other]!)) ** 2) * mean[other]!,
        ),
      );
    this.#referencePa = newest.pressurePa;
    const overtone = (i: number, times: number): boolean =>
      peaks.some((other) => Math.abs(RATES[i]! - 2 * RATES[other]!) <= 2 * STEP_HZ && mean[other]! > times * mean[i]!);
    const clear = peaks.filter(
      (i) =>
        !overtone(i, OVERTONE) &&
        mean[i]! > skirt(i) &&
        alike.every(({ power }) => nearby(power, i) > STEADY_SHARE * mean[i]!),
    );
    // More beats than heads: some are overtones that are nearly as strong.
    const own = clear
      .sort((a, b) => Number(overtone(a, 1)) - Number(overtone(b, 1)) || mean[b]! - mean[a]!)
      .slice(0, this.#heads);
    this.#beats = own.sort((a, b) => a - b).map((at) => ({ at, power: mean[at]!, lastMs: newest.atMs, lost: false }));
    this.#spectra = [];
  }

  #follow({ atMs, pressurePa, power }: Burst): void {
    if (this.#beats.length === 0 || Math.abs(pressurePa / this.#referencePa - 1) > PRESSURE_SHARE) return;
    this.#spectra = [...this.#spectra.slice(1 - GONE_BURSTS), power];
    // What a head puts into its line goes with the pressure, the power with its square.
    const gain = (pressurePa / this.#referencePa) ** 2;
    for (const beat of this.#beats) {
      const now = nearby(power, beat.at) / (gain * beat.power);
      if (now >= BACK_SHARE) {
        beat.lastMs = atMs;
        beat.lost = false;
      }
      if (
        this.#spectra.length >= GONE_BURSTS &&
        this.#spectra.every((one) => nearby(one, beat.at) < GONE_SHARE * gain * beat.power)
      )
        beat.lost = true;
    }
  }
}

/** Largest power at a rate or next to it: jitter moves a beat about. */
function nearby(power: Float64Array, at: number): number {
  return Math.max(power[at]!, power[at - 1] ?? 0, power[at + 1] ?? 0);
}

/** Power at each rate over what white noise of this standard deviation gives on average. */
export function powers(samples: readonly Sample[], rates: Float64Array, noiseSd: number): Float64Array {
  const count = samples.length;
  const startMs = samples[0]!.atMs;
  const times = samples.map(({ atMs }) => (atMs - startMs) / 1_000);
  const middle = times.reduce((a, b) => a + b, 0) / count;
  const mean = samples.reduce((sum, { value }) => sum + value, 0) / count;
  const spread = times.reduce((sum, time) => sum + (time - middle) ** 2, 0);
  const slope = samples.reduce((sum, { value }, i) => sum + (times[i]! - middle) * (value - mean), 0) / spread;
  const window = times.map((_, i) => Math.sin((Math.PI * (i + 0.5)) / count));
  const shaped = samples.map(({ value }, i) => window[i]! * (value - mean - slope * (times[i]! - middle)));
  const scale = noiseSd ** 2 * window.reduce((sum, w) => sum + w * w, 0);
  return rates.map((rate) => {
    let real = 0;
    let imaginary = 0;
    shaped.forEach((value, i) => {
      real += value * Math.cos(2 * Math.PI * rate * times[i]!);
      imaginary += value * Math.sin(2 * Math.PI * rate * times[i]!);
    });
    return (real ** 2 + imaginary ** 2) / scale;
  });
}
