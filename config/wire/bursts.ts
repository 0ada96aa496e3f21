/**
 * What fast sensors tell: shocks and beats as each picture has them, and the bursts of samples that a screen opens. SI;
 * times on the run's clock, ms since 1970 UTC.
 */

/** A pressure shock that a fast sensor caught. */
export interface ShockPicture {
  readonly line: string;
  readonly atMs: number;
  /** Highest pressure, and how far that was above the level it settled to; Pa. */
  readonly topPa: number;
  readonly peakPa: number;
  /** Steepest rise between two samples, Pa/s. */
  readonly ratePaPerS: number;
  /** What was logged just before; null: nothing. */
  readonly after: string | null;
}

/** What a fast sensor of a line hears of its impact heads. */
export interface RhythmPicture {
  readonly line: string;
  /** Beats that stood out at the baseline, Hz; none: a stall cannot be seen on this line. */
  readonly ratesHz: readonly number[];
  /** Impact heads of the line: one whose beat is not among these may stall unseen. */
  readonly heads: number;
  readonly lost: number;
}

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
