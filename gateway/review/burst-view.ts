/**
 * One burst of a fast channel opened: samples, spectrum, and the beats of the baseline in it.
 *
 * In: a run's record, a fast sensor, a moment. Out: the burst that was on then, or the nearest within NEAR_MS. Rates of
 * the beats are those that the picture of that time told; power is the diagnosis's own estimate (`powers`), over that
 * of the noise on the sensor's sheet; what a beat had at the baseline is read from the bursts before it. Rates in Hz,
 * values SI. Limit: one burst. That a head has stalled is the diagnosis's to say, after several.
 */
import type { BurstBeat, BurstEntry, BurstStanding, BurstView } from '../../config/wire/bursts.ts';
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import {
  ALIKE_SHARE,
  BACK_SHARE,
  GONE_SHARE,
  LEARN_MS,
  LEAST_SAMPLES,
  powers,
  PRESSURE_SHARE,
  STEP_HZ,
} from '../core/diagnosis/bursts/rhythm.ts';
import type { StoredReading } from '../journal/channel-reader.ts';
import type { RunReader } from '../journal/run-reader.ts';
import { GAP_MS } from '../core/telemetry/bursts.ts';

type Burst = readonly StoredReading[];

const LISTED_MAX = 60;
const NEAR_MS = 5_000;
/** Judgement: a pressure older than so many intervals says nothing of now, as everywhere. */
const FRESH_INTERVALS = 3.5;
const RATES = Float64Array.from({ length: 89 }, (_, index) => 0.5 + index / 16);
/** Judgement: noise alone passes it at one rate in a million, exp(-14) (Scargle 1982, from memory). */
const NOISE_TOP = 14;

/** Newest first, at most LISTED_MAX. */
export function burstsIn(reader: RunReader, sensor: Sensor, fromMs: number, toMs: number): BurstEntry[] {
  return reader.channels.bursts(sensor.id, fromMs, toMs, LISTED_MAX).map(entryOf);
}

/** Null: there is none at that moment. */
export function burstAt(reader: RunReader, layout: Layout, sensor: Sensor, atMs: number): BurstView | null {
  const away = (burst: Burst): number => Math.max(0, burst[0]!.atMs - atMs, atMs - burst.at(-1)!.atMs);
  const [burst] = reader.channels
    .bursts(sensor.id, atMs - NEAR_MS, atMs + NEAR_MS, LISTED_MAX)
    .toSorted((one, other) => away(one) - away(other));
  if (!burst) return null;
  const entry = entryOf(burst);
  const picture = reader.pictureAt(entry.endMs);
  const baselineMs = picture?.baseline?.atMs ?? null;
  // The picture has them in the order of the layout.
  const fast = layout.sensors.filter(
    ({ line, quantity }) => line !== null && (quantity === 'pulse' || quantity === 'motion'),
  );
  const learnedHz = picture?.rhythms[fast.indexOf(sensor)]?.ratesHz ?? [];
  const linePa = linePressure(reader, layout, sensor, burst);
  const looked = lookFor({ reader, layout, sensor }, burst, linePa, baselineMs, learnedHz);
  const spanMs = Math.max(FRESH_INTERVALS * sensor.intervalS * 1_000, NEAR_MS);
  const long = burst.length >= LEAST_SAMPLES;
  return {
    ...entry,
    ...looked,
    channel: sensor.id,
    intoMs: burst.map((sample) => sample.atMs - entry.atMs),
    values: burst.map(({ value }) => value),
    linePa,
    ratesHz: long ? [...RATES] : [],
    power: long ? [...powers(burst, RATES, sensor.noiseSd)] : [],
    noiseTop: NOISE_TOP,
    baselineMs,
    heads: layout.heads.filter(({ line, kit }) => line === sensor.line && kit.family === 'impact').map(({ id }) => id),
    earlierMs: reader.channels.bursts(sensor.id, entry.atMs - spanMs, entry.atMs - 1, 1)[0]?.[0]!.atMs ?? null,
    laterMs:
      reader.channels.bursts(sensor.id, entry.endMs + 1, entry.endMs + spanMs, LISTED_MAX).at(-1)?.[0]!.atMs ?? null,
  };
}

function entryOf(burst: Burst): BurstEntry {
  return { atMs: burst[0]!.atMs, endMs: burst.at(-1)!.atMs, samples: burst.length };
}

interface Record {
  readonly reader: RunReader;
  readonly layout: Layout;
  readonly sensor: Sensor;
}

function lookFor(
  record: Record,
  burst: Burst,
  linePa: number | null,
  baselineMs: number | null,
  learnedHz: readonly number[],
): { readonly standing: BurstStanding; readonly beats: readonly BurstBeat[] } {
  const not = (standing: BurstStanding): ReturnType<typeof lookFor> => ({ standing, beats: [] });
  if (burst.length < LEAST_SAMPLES) return not('too-short');
  if (baselineMs === null) return not('no-baseline');
  if (learnedHz.length === 0) return not('no-beat');
  const before = baselineBursts(record, baselineMs);
  if (before.length === 0) return not('baseline-gone');
  if (linePa === null) return not('no-pressure');
  const referencePa = before.at(-1)!.linePa;
  if (Math.abs(linePa / referencePa - 1) > PRESSURE_SHARE) return not('other-pressure');
  // Heads beat with the root of the pressure; what they put into the line goes with it, the power with its square.
  const stretch = Math.sqrt(linePa / referencePa);
  const { noiseSd } = record.sensor;
  const beats = learnedHz.map((baselineHz): BurstBeat => {
    const then =
      before.reduce((sum, one) => sum + powers(one.burst, Float64Array.of(baselineHz), noiseSd)[0]!, 0) / before.length;
    const nearby = Float64Array.of(baselineHz - STEP_HZ, baselineHz, baselineHz + STEP_HZ).map(
      (rate) => rate * stretch,
    );
    const share = Math.max(...powers(burst, nearby, noiseSd)) / ((linePa / referencePa) ** 2 * then);
    return {
      rateHz: baselineHz * stretch,
      baselineHz,
      share,
      heard: share >= BACK_SHARE ? 'heard' : share < GONE_SHARE ? 'gone' : 'faint',
    };
  });
  return { standing: 'judged', beats };
}

/** Those that the watch had heard out when the baseline was taken, at the pressure of the last. */
function baselineBursts(
  { reader, layout, sensor }: Record,
  baselineMs: number,
): { readonly burst: Burst; readonly linePa: number }[] {
  const heard = reader.channels
    .bursts(sensor.id, baselineMs - LEARN_MS, baselineMs - GAP_MS, LISTED_MAX)
    .toReversed()
    .flatMap((all) => {
      const burst = all.filter(({ live, inRange }) => live && inRange);
      const linePa =
        burst.length < LEAST_SAMPLES || all.at(-1)!.atMs > baselineMs - GAP_MS
          ? null
          : linePressure(reader, layout, sensor, burst);
      return linePa === null ? [] : [{ burst, linePa }];
    });
  return heard.filter(({ linePa }) => Math.abs(linePa / heard.at(-1)!.linePa - 1) < ALIKE_SHARE);
}

function linePressure(reader: RunReader, layout: Layout, sensor: Sensor, burst: Burst): number | null {
  if (sensor.quantity === 'pulse') return burst.reduce((sum, { value }) => sum + value, 0) / burst.length;
  const end = layout.sensors.find(({ line, quantity }) => line === sensor.line && quantity === 'pressure');
  if (!end) return null;
  const endMs = burst.at(-1)!.atMs;
  const [latest] = reader.channels.readingsBefore(end.id, endMs + 2 * GAP_MS, 1);
  return latest?.inRange && endMs - latest.atMs <= FRESH_INTERVALS * end.intervalS * 1_000 ? latest.value : null;
}
