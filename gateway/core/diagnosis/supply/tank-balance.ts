/**
 * The water balance of one tank: does its volume fall faster than the pump draws?
 *
 * In: every second the drawn flow (m3/s), and the volume (m3) whenever the level was measured anew. Out: a leak with
 * its rate, its standard deviation and its onset, or none. Method: V + drawn total is constant in a sound tank, but for
 * an error of the flow meter's scale. Over ten-second means a line with a bend at every possible onset is fitted by
 * least squares, the scale error under its prior; the bend whose size is most standard deviations from nil wins if it
 * passes LEAK_SD. The noise is what the level's means scatter by, over ten seconds to two minutes, but no less than its
 * sensor states, and half as much again until the balance is long enough to tell: a calm tank shows half the leak that
 * waves hide. Where flow or level was not heard for a while, the line may jump, but not bend. A tender that comes or
 * leaves starts the balance anew, since nobody measures what it brings. Limit: a leak that was there before the
 * balance began cannot be told from a meter that reads low or a tender that brings little: only its change is seen, and
 * one that takes a quarter of the flow looks like a tender that left.
 */
import { BalanceFit, scatter, type Step } from './balance-fit.ts';

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
const BALANCE_MS = 3_600_000;
const LEAST_STEPS = 12;
/** Onsets are tried closely where little time has passed since, widely where a step more or less changes nothing. */
const ONSETS_APART = 1.1;
/** A bend needs a minute before it to bend from, and one after it. */
const EDGE_STEPS = 6;
/** Steps in a mean whose scatter is looked at: slow waves and the tank's give show in minutes, not in ten seconds. */
const BLOCKS = [1, 3, 6, 12];
/** Judgement: what waves add to the sensor's noise, until the balance is long enough to show even the slow ones. */
const WAVES = 1.5;
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

  /** `volumeM3` null: no new reading. Flow unknown: the balance waits. `filling`: it starts anew. */
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
    this.#steps = this.#steps.filter((step) => step.atMs > atMs - BALANCE_MS);
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
    const fit = new BalanceFit(this.#steps, noiseM3);
    const bends: Bend[] = [];
    for (let after = EDGE_STEPS; after <= count - EDGE_STEPS; after = Math.ceil(ONSETS_APART * after)) {
      const { slope, sd } = fit.bentAt(count - after);
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
      const { slope, sd } = new BalanceFit(this.#steps.slice(-count), noiseM3).straight();
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
