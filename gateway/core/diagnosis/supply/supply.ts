/**
 * How long the water lasts: volume from the level, its trend, and the time until the suction runs dry, with a range.
 *
 * In: level samples (m) of one source and the flow that leaves it (m3/s). Out: SupplyPicture. Trend by least squares
 * over the last minutes, of the volume with what was drawn meanwhile put back, less what is drawn now: so a pump that
 * stopped, or was throttled, a minute ago does not count for what it drew then. Where the drawn flow is not known, of
 * the volume alone; while the trend is young the measured flow stands in for it. The range covers level noise, flow
 * error and how well the usable share is known (+-5 % of the volume; judgement). Open water: no volume.
 */
import type { Source } from '../../../../config/layout/layout.ts';
import { unknownSupply } from '../../../../config/wire/unknown-picture.ts';
import type { Estimate, SupplyPicture } from '../../../../config/wire/wire.ts';
import type { Sample } from '../../telemetry/channel.ts';
import type { DrawnVolume } from './drawn-volume.ts';
import type { FirstShort } from './first-underpressure.ts';
import { mean } from '../../statistics/gaussian.ts';
import { sourceDepthM, volumeAtDepth } from '../../hydraulics/source.ts';

const TREND_MS = 240_000;
const YOUNG_MS = 60_000;
/** Judgement: a rise of this share of the tank an hour, seen clearly, is a refill. */
const REFILL_SHARE_PER_S = 0.1 / 3_600;

export interface SupplyFrame {
  readonly atMs: number;
  readonly levelM: number | null;
  readonly levels: readonly Sample[];
  readonly levelSdM: number;
  /** Sum of measured flows of the pumps that draw from it; null unknown. */
  readonly drawnM3s: number | null;
  /** The same by time: volumes drawn up to a moment; null: not known that long. */
  readonly drawn: Pick<DrawnVolume, 'until' | 'latelyM3s'> | null;
  /** Head that falls short first, and the depth at which it does; null: none, or unknown. */
  readonly firstShort: FirstShort | null;
}

export function supplyPicture(source: Source, frame: SupplyFrame): SupplyPicture {
  if (frame.levelM === null || source.shape.kind === 'open-water') return unknownSupply(source.id);
  const volume = volumeAtDepth(source.shape, frame.levelM)!;
  const full = volumeAtDepth(source.shape, sourceDepthM(source.shape))!;
  const usable = Math.max(0, volume - (1 - source.usable) * full);
  const trend = volumeTrend(source, frame);
  const filling = trend !== null && trend.rate > REFILL_SHARE_PER_S * full && trend.rate > 3 * trend.sd;
  const until = (levelM: number): Estimate | null =>
    fallsIn(Math.max(0, volume - volumeAtDepth(source.shape, levelM)!), full, trend, frame.drawnM3s);
  const short = frame.firstShort;
  const shortIn =
    filling || !short ? null : { best: until(short.levelM), low: until(short.highM), high: until(short.lowM) };
  return {
    source: source.id,
    volumeM3: volume,
    usableM3: usable,
    trendM3s: trend?.rate ?? null,
    filling,
    emptyInS: filling ? null : fallsIn(usable, full, trend, frame.drawnM3s),
    firstShort: shortIn?.best
      ? { head: short!.head, inS: { best: shortIn.best.best, low: shortIn.low!.low, high: shortIn.high!.high } }
      : null,
  };
}

interface Trend {
  readonly rate: number;
  readonly sd: number;
}

function volumeTrend(source: Source, frame: SupplyFrame): Trend | null {
  const { shape } = source;
  if (shape.kind === 'open-water') return null;
  const recent = frame.levels.filter((sample) => sample.atMs > frame.atMs - TREND_MS);
  const first = recent[0];
  if (!first || recent.length < 10 || frame.atMs - first.atMs < YOUNG_MS) return null;
  const times = recent.map((sample) => (sample.atMs - first.atMs) / 1_000);
  const given = recent.map((sample) => frame.drawn?.until(sample.atMs) ?? null);
  const nowM3s = given.includes(null) ? null : (frame.drawn?.latelyM3s ?? null);
  const volumes = recent.map(
    (sample, index) => volumeAtDepth(shape, sample.value)! + (nowM3s === null ? 0 : given[index]!),
  );
  const meanTime = mean(times);
  const meanVolume = mean(volumes);
  const spread = times.reduce((sum, time) => sum + (time - meanTime) ** 2, 0);
  const rate = times.reduce((sum, time, index) => sum + (time - meanTime) * (volumes[index]! - meanVolume), 0) / spread;
  const left = volumes.reduce(
    (sum, volume, index) => sum + (volume - meanVolume - rate * (times[index]! - meanTime)) ** 2,
    0,
  );
  const noise = Math.max(
    Math.sqrt(left / (recent.length - 2)),
    frame.levelSdM * (volumeAtDepth(shape, first.value)! / Math.max(first.value, 0.05)),
  );
  return { rate: rate - (nowM3s ?? 0), sd: noise / Math.sqrt(spread) };
}

/** Seconds until so much more has left, m3; null: not falling. */
function fallsIn(leftM3: number, full: number, trend: Trend | null, drawn: number | null): Estimate | null {
  const rate = trend ? -trend.rate : drawn;
  if (rate === null) return null;
  const sd = trend ? Math.max(2 * trend.sd, 0.03 * rate) : 0.05 * rate;
  const dry = 0.05 * full;
  if (rate <= Math.max(sd, 1e-6)) return null;
  return {
    best: leftM3 / rate,
    low: Math.max(0, leftM3 - dry) / (rate + sd),
    high: (leftM3 + dry) / Math.max(rate - sd, 0.2 * rate),
  };
}
