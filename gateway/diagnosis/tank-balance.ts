/**
 * The water books of one tank: does its volume fall faster than the pump draws?
 *
 * In: every second the drawn flow (m3/s), and the volume (m3) whenever the level was measured anew. Out: a leak with its
 * rate, its standard deviation and its onset, or none. Method: V + drawn total is constant in a sound tank, but for an error of the
 * flow meter's scale. Over ten-second means a line with a bend at every possible onset is fitted by least squares, the
 * scale error under its prior; the bend whose size is most standard deviations from nil wins if it passes LEAK_SD.
 * A tender that comes or leaves starts the books anew, since nobody measures what it brings. Limit: a leak that was there
 * before the books were opened cannot be told from a meter that reads low or a tender that brings little: only its change
 * is seen, and one that takes a quarter of the flow looks like a tender that left.
 */
import { cholesky, solveWith } from './gaussian.ts';

export interface TankLeak {
  readonly rateM3s: number;
  readonly sdM3s: number;
  readonly sinceMs: number;
}

const STEP_MS = 10_000;
/** Flow unknown for longer: the books start anew. */
const GAP_MS = 60_000;
/** 30 minutes. */
const MOST_STEPS = 180;
const LEAST_STEPS = 12;
/** A bend needs a minute before it to bend from. */
const EDGE_STEPS = 6;
/** Judgement: a flow meter's scale, before the books have anything to say about it. */
const SCALE_SD = 0.03;
/** Judgement: slow waves and the tank's give make ten-second means less independent than they look. */
const NOISE_FLOOR = 1.5;
/** 1 in 1.3 million at one onset, besides the room that NOISE_FLOOR leaves; some forty onsets are tried, six times a minute. */
const LEAK_SD = 4.8;
/** Judgement: a bend of this share of what is drawn is a tender that came or left, not a leak. */
const REFILL_SHARE = 0.25;
/** Judgement: a leak is over when the last five minutes run level, and against it by three standard deviations. */
const OVER_STEPS = 30;

/** Means over the readings of a step. */
interface Step {
  readonly atMs: number;
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
    if (filling || (this.#lastMs > 0 && atMs - this.#lastMs > GAP_MS)) this.#restart();
    if (drawnM3s === null || filling) return;
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
    this.#steps.push({ atMs: this.#open.atMs / readings, drawnM3: this.#open.drawnM3 / readings, sumM3: this.#open.sumM3 / readings, readings });
    if (this.#steps.length > MOST_STEPS) this.#steps.shift();
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
    if (this.#leak && this.#isOver(this.#leak)) {
      this.#steps = this.#steps.slice(-OVER_STEPS);
      this.#leak = null;
      this.#clearest = 0;
      return;
    }
    const paceM3s = (this.#steps.at(-1)!.drawnM3 - this.#steps[0]!.drawnM3) / ((this.#steps.at(-1)!.atMs - this.#steps[0]!.atMs) / 1_000);
    let best = { score: 0, leak: { rateM3s: 0, sdM3s: 0, sinceMs: 0 } };
    const books = new BentLine(this.#steps, this.#levelSdM3);
    for (let bend = EDGE_STEPS; bend <= count - 4; bend += count > 60 ? 3 : 1) {
      const fit = books.bentAt(bend);
      const score = -fit.slope / fit.sd;
      if (Math.abs(score) > Math.abs(best.score)) best = { score, leak: { rateM3s: -fit.slope, sdM3s: fit.sd, sinceMs: this.#steps[bend]!.atMs } };
    }
    if (Math.abs(best.score) > LEAK_SD && Math.abs(best.leak.rateM3s) > REFILL_SHARE * paceM3s) {
      this.#restart();
      return;
    }
    if (best.score < LEAK_SD || best.score < this.#clearest) return;
    this.#clearest = best.score;
    this.#leak = { ...best.leak, sinceMs: this.#leak?.sinceMs ?? best.leak.sinceMs };
  }

  /** The newest minutes against the leak: level again, beyond doubt. */
  #isOver({ rateM3s, sinceMs }: TankLeak): boolean {
    const recent = this.#steps.slice(-OVER_STEPS);
    if (recent.length < OVER_STEPS || recent[0]!.atMs < sinceMs + 60_000) return false;
    const { slope, sd } = line(recent, this.#levelSdM3);
    return slope + rateM3s > 3 * sd && slope > -0.35 * rateM3s;
  }
}

interface Fit {
  readonly slope: number;
  readonly sd: number;
}

const weightOf = ({ readings }: Step, levelSdM3: number): number => readings / (NOISE_FLOOR * levelSdM3) ** 2;

/** Slope of V + drawn over time, m3/s. */
function line(steps: readonly Step[], levelSdM3: number): Fit {
  const times = steps.map(({ atMs }) => (atMs - steps[0]!.atMs) / 1_000);
  const weights = steps.map((step) => weightOf(step, levelSdM3));
  const total = weights.reduce((a, b) => a + b, 0);
  const middle = times.reduce((sum, time, i) => sum + weights[i]! * time, 0) / total;
  const spread = times.reduce((sum, time, i) => sum + weights[i]! * (time - middle) ** 2, 0);
  const slope = times.reduce((sum, time, i) => sum + weights[i]! * (time - middle) * steps[i]!.sumM3, 0) / spread;
  return { slope, sd: 1 / Math.sqrt(spread) };
}

const COLUMNS = 4;

/**
 * Least squares of V + drawn on [1, t, drawn, (t - onset)+], the third under the prior of the meter's scale, the second
 * for what comes in at a rate that nobody told. Gives the last. Time in minutes, so that all columns are of a size.
 */
class BentLine {
  readonly #steps: readonly Step[];
  readonly #weights: readonly number[];
  /** Of all columns but the last, which is the only one that another onset changes. */
  readonly #normal: Float64Array;
  readonly #right: Float64Array;

  constructor(steps: readonly Step[], levelSdM3: number) {
    this.#steps = steps;
    this.#weights = steps.map((step) => weightOf(step, levelSdM3));
    this.#normal = new Float64Array(COLUMNS ** 2);
    this.#right = new Float64Array(COLUMNS);
    steps.forEach((_, at) => {
      const row = this.#row(at);
      for (let i = 0; i < row.length; i += 1) this.#add(this.#normal, this.#right, at, i, row[i]!, row);
    });
    this.#normal[2 * COLUMNS + 2]! += 1 / SCALE_SD ** 2;
  }

  #row(at: number): [number, number, number] {
    const { atMs, drawnM3 } = this.#steps[at]!;
    return [1, (atMs - this.#steps[0]!.atMs) / 60_000, drawnM3 - this.#steps[0]!.drawnM3];
  }

  #add(normal: Float64Array, right: Float64Array, at: number, column: number, value: number, row: readonly number[]): void {
    const weighted = this.#weights[at]! * value;
    right[column]! += weighted * (this.#steps[at]!.sumM3 - this.#steps[0]!.sumM3);
    for (let j = 0; j < row.length; j += 1) normal[column * COLUMNS + j]! += weighted * row[j]!;
  }

  bentAt(bend: number): Fit {
    const normal = this.#normal.slice();
    const right = this.#right.slice();
    for (let at = bend + 1; at < this.#steps.length; at += 1) {
      const after = (this.#steps[at]!.atMs - this.#steps[bend]!.atMs) / 60_000;
      this.#add(normal, right, at, 3, after, [...this.#row(at), after]);
    }
    // Only the lower triangle is read.
    const factor = cholesky(normal, COLUMNS);
    const last = solveWith(factor, [0, 0, 0, 1])[3]!;
    return { slope: solveWith(factor, right)[3]! / 60, sd: Math.sqrt(last) / 60 };
  }
}
