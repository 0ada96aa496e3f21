/**
 * The water books of one tank: does its volume fall faster than the pump draws?
 *
 * In: every second the drawn flow (m3/s), and the volume (m3) whenever the level was measured anew. Out: a leak with
 * its rate, its standard deviation and its onset, or none. Method: V + drawn total is constant in a sound tank, but for
 * an error of the flow meter's scale. Over ten-second means a line with a bend at every possible onset is fitted by
 * least squares, the scale error under its prior; the bend whose size is most standard deviations from nil wins if it
 * passes LEAK_SD. The noise is what the level's means scatter by, over ten seconds to two minutes, but no less than its
 * sensor states, and half as much again until the books are long enough to tell: a calm tank shows half the leak that
 * waves hide. Where flow or level was not heard for a while, the line may jump, but not bend. A tender that comes or
 * leaves starts the books anew, since nobody measures what it brings. Limit: a leak that was there before the books
 * were opened cannot be told from a meter that reads low or a tender that brings little: only its change is seen, and
 * one that takes a quarter of the flow looks like a tender that left.
 */
import { cholesky, mean, solveWith } from '../../statistics/gaussian.ts';

export interface TankLeak {
  readonly rateM3s: number;
  readonly sdM3s: number;
  readonly sinceMs: number;
}

const STEP_MS = 10_000;
/** Flow or level unknown for longer: a new spell. */
const GAP_MS = 60_000;
/**
 * An hour: how it ran before is known the better the longer it was watched. Judgement: a flow meter's zero stays so
 * long.
 */
const BOOKS_MS = 3_600_000;
const LEAST_STEPS = 12;
/** Onsets are tried closely where little time has passed since, widely where a step more or less changes nothing. */
const ONSETS_APART = 1.1;
/** A bend needs a minute before it to bend from, and one after it. */
const EDGE_STEPS = 6;
/** Judgement: a flow meter's scale, before the books have anything to say about it. */
const SCALE_SD = 0.03;
/** Steps in a mean whose scatter is looked at: slow waves and the tank's give show in minutes, not in ten seconds. */
const BLOCKS = [1, 3, 6, 12];
/** Judgement: what waves add to the sensor's noise, until the books are long enough to show even the slow ones. */
const WAVES = 1.5;
/** Judgement: fewer say nothing of the noise. */
const LEAST_SCATTERS = 6;
/** 1 in 1.3 million at one onset; up to thirty onsets are tried, six times a minute. */
const LEAK_SD = 4.8;
/** Judgement: while its onset leaves its size open beyond this, it is too soon to tell a leak from a wave. */
const KNOWN_SD = 4;
/** Judgement: a bend of this share of what is drawn is a tender that came or left, not a leak. */
const REFILL_SHARE = 0.25;
/**
 * Judgement: a leak is over when the newest minutes run level, and against it by three standard deviations. Five
 * minutes, or so many that their slope is known to a sixth of the leak: too few run level now and then while it goes
 * on.
 */
const OVER_STEPS = 30;
const OVER_SD = 6;

/** Means over the readings of a step. */
interface Step {
  readonly atMs: number;
  /** Counts the gaps before it. */
  readonly spell: number;
  readonly drawnM3: number;
  /** Volume + drawn. */
  readonly sumM3: number;
  readonly readings: number;
}

export class TankBalance {
  readonly #levelSdM3: number;
  #steps: Step[] = [];
  #open: { startMs: number; atMs: number; drawnM3: number; sumM3: number; readings: number } | null = null;
  #drawnM3 = 0;
  #spell = 0;
  #lastMs = 0;
  #leak: TankLeak | null = null;
  /** Standard deviations of the leak when it was clearest: later, water it no longer loses would water it down. */
  #clearest = 0;

  /** `levelSdM3`: noise of one reading of the level, as a volume. */
  constructor(levelSdM3: number) {
    this.#levelSdM3 = levelSdM3;
  }

  get leak(): TankLeak | null {
    return this.#leak;
  }

  /** `volumeM3` null: no new reading. Flow unknown: the books wait. `filling`: they start anew. */
  observe(atMs: number, volumeM3: number | null, drawnM3s: number | null, filling: boolean): void {
    if (filling) this.#restart();
    if (drawnM3s === null || filling) return;
    if (atMs - this.#lastMs > GAP_MS) {
      this.#spell += 1;
      this.#open = null;
    }
    if (this.#lastMs > 0) this.#drawnM3 += (drawnM3s * (atMs - this.#lastMs)) / 1_000;
    this.#lastMs = atMs;
    if (volumeM3 === null) return;
    this.#open ??= { startMs: atMs, atMs: 0, drawnM3: 0, sumM3: 0, readings: 0 };
    this.#open.atMs += atMs;
    this.#open.drawnM3 += this.#drawnM3;
    this.#open.sumM3 += volumeM3 + this.#drawnM3;
    this.#open.readings += 1;
    if (atMs - this.#open.startMs < STEP_MS - 1_000) return;
    const { readings } = this.#open;
    this.#steps.push({
      atMs: this.#open.atMs / readings,
      spell: this.#spell,
      drawnM3: this.#open.drawnM3 / readings,
      sumM3: this.#open.sumM3 / readings,
      readings,
    });
    this.#steps = this.#steps.filter((step) => step.atMs > atMs - BOOKS_MS);
    this.#open = null;
    this.#judge();
  }

  #restart(): void {
    this.#steps = [];
    this.#open = null;
    this.#drawnM3 = 0;
    this.#lastMs = 0;
    this.#leak = null;
    this.#clearest = 0;
  }

  #judge(): void {
    const count = this.#steps.length;
    if (count < LEAST_STEPS) return;
    const scatters = BLOCKS.map((block) => scatter(this.#steps, block));
    const noiseM3 = (scatters.includes(0) ? WAVES : 1) * Math.max(this.#levelSdM3, ...scatters);
    const level = this.#leak ? this.#levelAgain(this.#leak, noiseM3) : 0;
    if (level > 0) {
      this.#steps = this.#steps.slice(-level);
      this.#leak = null;
      this.#clearest = 0;
      return;
    }
    const paceM3s =
      (this.#steps.at(-1)!.drawnM3 - this.#steps[0]!.drawnM3) /
      ((this.#steps.at(-1)!.atMs - this.#steps[0]!.atMs) / 1_000);
    const books = new Books(this.#steps, noiseM3);
    const bends: Bend[] = [];
    for (let after = EDGE_STEPS; after <= count - EDGE_STEPS; after = Math.ceil(ONSETS_APART * after)) {
      const { slope, sd } = books.bentAt(count - after);
      bends.push({ after, score: -slope / sd, rateM3s: -slope, sdM3s: sd });
    }
    const best = bends.reduce((one, other) => (Math.abs(other.score) > Math.abs(one.score) ? other : one));
    if (Math.abs(best.score) > LEAK_SD && Math.abs(best.rateM3s) > REFILL_SHARE * paceM3s) {
      this.#restart();
      return;
    }
    if (best.score < LEAK_SD || best.score < this.#clearest) return;
    const size = sizeOf(bends, best.score);
    if (size.rateM3s < KNOWN_SD * size.sdM3s) return;
    this.#clearest = best.score;
    this.#leak = { ...size, sinceMs: this.#leak?.sinceMs ?? this.#steps[count - best.after]!.atMs };
  }

  /** How many of the newest steps run level again, beyond doubt: the fewest that can tell it; 0: none do. */
  #levelAgain({ rateM3s, sdM3s, sinceMs }: TankLeak, noiseM3: number): number {
    for (
      let count = OVER_STEPS;
      count <= this.#steps.length && this.#steps.at(-count)!.atMs >= sinceMs + 60_000;
      count += EDGE_STEPS
    ) {
      const { slope, sd } = new Books(this.#steps.slice(-count), noiseM3).straight();
      if (sd < rateM3s / OVER_SD)
        return slope + rateM3s > 3 * Math.hypot(sd, sdM3s) && slope > -0.35 * rateM3s ? count : 0;
    }
    return 0;
  }
}

/** A line bent so many steps ago. */
interface Bend {
  readonly after: number;
  readonly score: number;
  readonly rateM3s: number;
  readonly sdM3s: number;
}

/**
 * Over all onsets, each as likely as it fits and as many seconds as it stands for: the best one alone says too much.
 */
function sizeOf(bends: readonly Bend[], bestScore: number): Pick<TankLeak, 'rateM3s' | 'sdM3s'> {
  const weights = bends.map(({ after, score }) =>
    score > 0 ? (after / score) * Math.exp((score ** 2 - bestScore ** 2) / 2) : 0,
  );
  const total = weights.reduce((a, b) => a + b, 0);
  const average = (value: (bend: Bend) => number): number =>
    bends.reduce((sum, bend, at) => sum + weights[at]! * value(bend), 0) / total;
  const rateM3s = average((bend) => bend.rateM3s);
  return { rateM3s, sdM3s: Math.sqrt(average((bend) => bend.sdM3s ** 2 + (bend.rateM3s - rateM3s) ** 2)) };
}

/** Judgement: a slope of hundreds of standard deviations of the level a minute is nothing strange. */
const FREE = 1e-7;

interface Fit {
  readonly slope: number;
  readonly sd: number;
}

/**
 * Least squares of V + drawn over time; each spell between gaps has a height of its own, so what a gap hid is nobody's
 * leak.
 */
class Books {
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

  straight(): Fit {
    const { tt, ts } = this.#unbent;
    return { slope: ts / tt / 60, sd: 1 / Math.sqrt(tt) / 60 };
  }

  /**
   * The last of [t, drawn, (t - onset)+]: the first for what comes in at a rate that nobody told, the second under the
   * prior of the meter's scale.
   */
  bentAt(bend: number): Fit {
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
function scatter(steps: readonly Step[], block: number): number {
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
