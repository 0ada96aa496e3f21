/**
 * Least squares of what a tank holds plus what was drawn, over time: a straight line, or one with a bend.
 *
 * In: means over steps of some seconds (m3), the noise of one reading of the volume. Out: slopes with their standard
 * deviation (m3/s); the noise that the steps themselves show. Each spell between gaps has a height of its own. Limit:
 * noise is taken as independent from step to step.
 */
import { cholesky, mean, solveWith } from '../../statistics/gaussian.ts';

/** Judgement: a flow meter's scale, before the balance has anything to say about it. */
const SCALE_SD = 0.03;
/** Judgement: fewer say nothing of the noise. */
const LEAST_SCATTERS = 6;
/** Judgement: a slope of hundreds of standard deviations of the level a minute is nothing strange. */
const FREE = 1e-7;

/** Means over the readings of a step. */
export interface Step {
  readonly atMs: number;
  /** Counts the gaps before it. */
  readonly spell: number;
  readonly drawnM3: number;
  /** Volume + drawn. */
  readonly sumM3: number;
  readonly readings: number;
}

/** In m3/s, with its standard deviation. */
interface Slope {
  readonly slope: number;
  readonly sd: number;
}

/**
 * Least squares of V + drawn over time; each spell between gaps has a height of its own, so what a gap hid is nobody's
 * leak.
 */
export class BalanceFit {
  readonly #steps: readonly Step[];
  /** Of one reading. */
  readonly #noiseM3: number;
  /** Minutes, m3, m3: columns of a size. */
  readonly #times: Float64Array;
  readonly #drawn: Float64Array;
  readonly #sums: Float64Array;
  /** Products of the columns that another onset does not change. */
  readonly #unbent: Readonly<Record<'tt' | 'td' | 'dd' | 'ts' | 'ds', number>>;

  constructor(steps: readonly Step[], noiseM3: number) {
    this.#steps = steps;
    this.#noiseM3 = noiseM3;
    this.#times = this.#levelled(({ atMs }) => (atMs - steps[0]!.atMs) / 60_000);
    this.#drawn = this.#levelled(({ drawnM3 }) => drawnM3);
    this.#sums = this.#levelled(({ sumM3 }) => sumM3);
    const [times, drawn, sums] = [this.#times, this.#drawn, this.#sums];
    this.#unbent = {
      tt: this.#product(times, times),
      td: this.#product(times, drawn),
      dd: this.#product(drawn, drawn),
      ts: this.#product(times, sums),
      ds: this.#product(drawn, sums),
    };
  }

  straight(): Slope {
    const { tt, ts } = this.#unbent;
    return { slope: ts / tt / 60, sd: 1 / Math.sqrt(tt) / 60 };
  }

  /**
   * The last of [t, drawn, (t - onset)+]: the first for what comes in at a rate that nobody told, the second under the
   * prior of the meter's scale.
   */
  bentAt(bend: number): Slope {
    const onsetMs = this.#steps[bend]!.atMs;
    const after = this.#levelled(({ atMs }) => Math.max(0, atMs - onsetMs) / 60_000);
    const { tt, td, dd, ts, ds } = this.#unbent;
    // Only the lower triangle is read. FREE keeps it definite where spells are too short to tell a slope.
    const free = (FREE * this.#steps.reduce((sum, { readings }) => sum + readings, 0)) / this.#noiseM3 ** 2;
    const normal = Float64Array.of(
      tt + free,
      0,
      0,
      td,
      dd + 1 / SCALE_SD ** 2,
      0,
      this.#product(this.#times, after),
      this.#product(this.#drawn, after),
      this.#product(after, after) + free,
    );
    const factor = cholesky(normal, 3);
    return {
      slope: solveWith(factor, [ts, ds, this.#product(this.#sums, after)])[2]! / 60,
      sd: Math.sqrt(solveWith(factor, [0, 0, 1])[2]!) / 60,
    };
  }

  /** Less its mean in each spell, which takes the spell's height out of the fit. */
  #levelled(value: (step: Step) => number): Float64Array {
    const out = new Float64Array(this.#steps.length);
    for (let at = 0; at < out.length; at += 1) out[at] = value(this.#steps[at]!);
    for (let from = 0, to = 0; from < out.length; from = to) {
      let [total, readings] = [0, 0];
      for (; this.#steps[to]?.spell === this.#steps[from]!.spell; to += 1) {
        total += out[to]! * this.#steps[to]!.readings;
        readings += this.#steps[to]!.readings;
      }
      for (let at = from; at < to; at += 1) out[at]! -= total / readings;
    }
    return out;
  }

  #product(one: Float64Array, other: Float64Array): number {
    let sum = 0;
    for (let at = 0; at < one.length; at += 1) sum += this.#steps[at]!.readings * one[at]! * other[at]!;
    return sum / this.#noiseM3 ** 2;
  }
}

/**
 * Noise of one reading, by how far the middle one of three means over `block` steps lies off its neighbours': neither a
 * slope nor a slow bend shows in it.
 */
export function scatter(steps: readonly Step[], block: number): number {
  const blocks: { spell: number; sumM3: number; readings: number }[] = [];
  for (let from = 0; from + block <= steps.length; from += block) {
    const part = steps.slice(from, from + block);
    if (part[0]!.spell !== part.at(-1)!.spell) continue;
    const readings = part.reduce((sum, step) => sum + step.readings, 0);
    blocks.push({
      spell: part[0]!.spell,
      sumM3: part.reduce((sum, step) => sum + step.readings * step.sumM3, 0) / readings,
      readings,
    });
  }
  const variances = blocks.slice(2).flatMap((after, at) => {
    const [before, middle] = [blocks[at]!, blocks[at + 1]!];
    if (before.spell !== after.spell) return [];
    return [
      (before.sumM3 - 2 * middle.sumM3 + after.sumM3) ** 2 /
        (1 / before.readings + 4 / middle.readings + 1 / after.readings),
    ];
  });
  return variances.length < LEAST_SCATTERS ? 0 : Math.sqrt(mean(variances));
}
