/**
 * Where each gauge stands: the band of a healthy lay, and its last seconds against that band and against what has been
 * named.
 *
 * In: the model near the boundary; mean residual of a gauge over its last readings, what the named causes move it by.
 * Out: band, side of the band, and what nobody has named yet. SI.
 */
import type { LocalModel } from '../model/local-model.ts';

export type Side = 'below' | 'above';

export interface Band {
  readonly expected: number;
  readonly low: number;
  readonly high: number;
}

export interface GaugeFit {
  /** The last seconds against the band of the healthy lay; null: too few readings to say. */
  readonly lately: 'inside' | Side | null;
  /** Off even from what the named causes make of it; null: not. */
  readonly unnamed: Side | null;
}

export const NO_FIT: GaugeFit = { lately: null, unnamed: null };

/**
 * Judgement: a line is called as modelled only if its last six seconds are; a named cause explains its shift to a
 * tenth, and must explain half of what leaves the band.
 */
const LATELY_MS = 6_000;
const SHIFT_SHARE = 0.1;
const EXPLAINED_SHARE = 0.5;
/** Half the width of a band, in standard deviations of one reading. */
const BAND_SD = 3;

/** Variances of one gauge: of one reading, and of what averaging does not shrink. */
export interface GaugeVariance {
  readonly reading: number;
  readonly bias: number;
}

export function varianceOf(
  { readingNoise, biasCovariance }: Pick<LocalModel, 'readingNoise' | 'biasCovariance'>,
  gauge: number,
  gauges: number,
): GaugeVariance {
  const at = gauge * gauges + gauge;
  return { reading: readingNoise[at]!, bias: biasCovariance[at]! };
}

/** Of each gauge; null where the model cannot say what it should read. */
export function bandsOf(model: LocalModel): (Band | null)[] {
  const { values } = model.healthy;
  return Array.from(values, (expected, gauge) => {
    if (!Number.isFinite(expected)) return null;
    const { reading, bias } = varianceOf(model, gauge, values.length);
    const width = BAND_SD * Math.sqrt(reading + bias);
    return { expected, low: expected - width, high: expected + width };
  });
}

/** How far back the last readings of a gauge reach, and how many of them it takes: a slow one's last has to do. */
export function latelyMs(intervalS: number): { readonly spanMs: number; readonly least: number } {
  const slow = 2_000 * intervalS > LATELY_MS;
  return { spanMs: slow ? 1_500 * intervalS : LATELY_MS, least: slow ? 1 : 2 };
}

/** In: mean residual of so many readings, and shift by named causes, in the gauge's unit. */
export function fitOf(mean: number, count: number, named: number, variance: GaugeVariance): GaugeFit {
  const half = BAND_SD * Math.sqrt(variance.reading + variance.bias);
  const lately = Math.abs(mean) <= half ? 'inside' : sideOfZero(mean);
  const sd = Math.sqrt(variance.reading / count + variance.bias + (SHIFT_SHARE * named) ** 2);
  const off = mean - named;
  if (Math.abs(off) > 4 * sd) return { lately, unnamed: sideOfZero(off) };
  const explained = named * mean > 0 && Math.abs(named) >= EXPLAINED_SHARE * Math.abs(mean);
  return { lately, unnamed: lately !== 'inside' && !explained ? lately : null };
}

function sideOfZero(value: number): Side {
  return value < 0 ? 'below' : 'above';
}
