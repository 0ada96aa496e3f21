/**
 * Bursts of fast samples, as the gateway tells of them to a screen that opens one. SI; times on the run's clock, ms
 * since 1970 UTC.
 */

export interface BurstEntry {
  /** Of the first sample, and of the last. */
  readonly atMs: number;
  readonly endMs: number;
  readonly samples: number;
}

/** How far the beats of the baseline can be looked for in a burst. */
export type BurstStanding =
  | 'judged'
  | 'too-short'
  | 'no-baseline'
  | 'no-beat'
  /** Of the bursts before the baseline nothing is kept any more. */
  | 'baseline-gone'
  | 'no-pressure'
  /** So far from the pressure of the baseline that heads may rightly beat otherwise. */
  | 'other-pressure';

export interface BurstBeat {
  /** At the pressure of this burst, and at that of the baseline. */
  readonly rateHz: number;
  readonly baselineHz: number;
  /** Of its power at the baseline, at equal pressure. */
  readonly share: number;
  readonly heard: 'heard' | 'faint' | 'gone';
}

export interface BurstView extends BurstEntry {
  readonly channel: string;
  /** ms from the first sample, and values, one each. */
  readonly intoMs: readonly number[];
  readonly values: readonly number[];
  /** The line's pressure in it; null: not known. */
  readonly linePa: number | null;
  /** Power over that of the noise on the sensor's sheet, by rate; empty: too short. */
  readonly ratesHz: readonly number[];
  readonly power: readonly number[];
  /** A peak above this hardly comes of noise. */
  readonly noiseTop: number;
  readonly standing: BurstStanding;
  /** Beats of the baseline; filled only where `standing` is 'judged'. */
  readonly beats: readonly BurstBeat[];
  readonly baselineMs: number | null;
  /** Impact heads of its line. */
  readonly heads: readonly string[];
  /** Bursts next to it; null: none near. */
  readonly earlierMs: number | null;
  readonly laterMs: number | null;
}
