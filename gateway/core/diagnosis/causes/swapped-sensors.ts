/**
 * Two line-end sensors that were swapped: what each reads then, and how surely that is known.
 *
 * A gauge takes its zero along; the error of the height stays with the place, and a baseline tells only the sum of the
 * two. So a swap shows as two steps that mirror each other, with a height as uncertain as the zeros are (SI).
 */
import type { Hypothesis, Physics } from './hypothesis.ts';
import { ELEVATION_SD_PA, offsetAt } from '../model/parameter-estimate.ts';
import type { Gauge } from '../model/gauge.ts';
import type { ResidualEvidence } from '../residuals/residual-evidence.ts';

type Pair = readonly [number, number];

/** Any two line ends, wired or named the wrong way round. */
export const swappedSensors: Physics = {
  atEnds: ({ gauges }, ends) =>
    ends.flatMap((one, at) =>
      ends.slice(at + 1).map((other): Hypothesis => {
        const { id } = gauges[one]!.sensor;
        return {
          cause: 'sensor-swapped',
          place: gauges[other]!.sensor.id,
          subject: id,
          subjectKind: 'channel',
          weight: 0.1 / ends.length,
          size: { fixed: true, spread: 0 },
          effect: { kind: 'swap', gauges: [one, other] },
        };
      }),
    ),
};

/** By how much the first reads higher than before; the second reads as much lower. */
export function tradedShift(evidence: ResidualEvidence, gauges: readonly Gauge[], [one, other]: Pair): number {
  const { belief, healthy, observedGauges, referenceOffset } = evidence;
  const read = (gauge: number): number =>
    healthy.values[gauge]! + (referenceOffset[observedGauges.indexOf(gauge)] ?? 0);
  const zero = (gauge: number): number => zeroShare(gauges[gauge]!) * belief.mean[offsetAt(belief, gauge)]!;
  return read(other) - zero(other) - (read(one) - zero(one));
}

/**
 * The covariance of the residual (observed x observed, in place) as it is after the trade: errors go with what is read,
 * and the zeros are an error of their own.
 */
export function tradeErrors(
  covariance: Float64Array,
  evidence: ResidualEvidence,
  gauges: readonly Gauge[],
  pair: Pair,
): void {
  const { observedGauges, biasCovariance } = evidence;
  const size = observedGauges.length;
  const [one, other] = pair.map((gauge) => observedGauges.indexOf(gauge)) as [number, number];
  if (one >= 0 && other >= 0) {
    for (let at = 0; at < size; at += 1) exchange(covariance, one * size + at, other * size + at);
    for (let at = 0; at < size; at += 1) exchange(covariance, at * size + one, at * size + other);
    covariance[one * size + other] = covariance[other * size + one]! -= zeroVariance(evidence, gauges, pair);
  }
  pair.forEach((gauge, index) => {
    const row = observedGauges.indexOf(gauge);
    const unheard = pair[1 - index]!;
    if (row >= 0)
      covariance[row * size + row]! +=
        zeroVariance(evidence, gauges, pair) +
        (observedGauges.includes(unheard) ? 0 : biasCovariance[unheard * (gauges.length + 1)]!);
  });
}

function exchange(values: Float64Array, one: number, other: number): void {
  const value = values[one]!;
  values[one] = values[other]!;
  values[other] = value;
}

/** Of the variance of a gauge's offset: what is its own and not of its place. */
function zeroShare({ sensor }: Gauge): number {
  return sensor.offsetSd ** 2 / (sensor.offsetSd ** 2 + ELEVATION_SD_PA ** 2);
}

/** Of the difference of two zeros: what is believed of the offsets, and how little an offset tells of its zero. */
function zeroVariance({ belief }: ResidualEvidence, gauges: readonly Gauge[], [one, other]: Pair): number {
  const shares = [zeroShare(gauges[one]!), -zeroShare(gauges[other]!)] as const;
  const at = [offsetAt(belief, one), offsetAt(belief, other)] as const;
  const together = (row: 0 | 1, column: 0 | 1): number =>
    shares[row] * shares[column] * belief.covariance[at[row] * belief.size + at[column]]!;
  return together(0, 0) + 2 * together(0, 1) + together(1, 1) + (shares[0] - shares[1]) * ELEVATION_SD_PA ** 2;
}
