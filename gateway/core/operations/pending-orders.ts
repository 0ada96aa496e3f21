/**
 * Gates that were ordered to move, and whether they have: an order is told to the gateway before or after the hand
 * moves.
 *
 * In: orders, and once a second the readings. Out: the positions that the model is to use: the old one until the
 * readings fit the new one better in SURE_FRAMES frames running (a line that opens fills first, so its own end is not
 * asked), or the order is LONGEST_MS old. Method: squared distance of all pump flows and line ends to what the model
 * gives for each position, in standard deviations of the gauges. Limit: with slow sensors the change is taken over when
 * the first reading after it comes.
 */
import type { Expectation } from '../diagnosis/model/expectation.ts';
import type { ParameterEstimate } from '../diagnosis/model/parameter-estimate.ts';
import type { Boundary } from '../diagnosis/model/gauge.ts';

const SURE_FRAMES = 2;
/** Judgement: by then it was done, or somebody will say that it was not. */
const LONGEST_MS = 120_000;
/** Judgement: of a reading, what the model may be off by. */
const MODEL_SHARE = 0.02;
/** Judgement: how long pressures run on after a line was shut, and while one fills again. */
const SHUT_HOLD_MS = 6_000;
const OPEN_HOLD_MS = 45_000;

interface Pending {
  readonly before: number;
  readonly atMs: number;
  frames: number;
}

export class PendingOrders {
  readonly #pending = new Map<number, Pending>();

  order(gate: number, before: number, atMs: number): void {
    const earlier = this.#pending.get(gate);
    this.#pending.set(gate, { before: earlier?.before ?? before, atMs, frames: 0 });
  }

  /** Gates that were ordered to move and are not yet seen to have. */
  get awaited(): number[] {
    return [...this.#pending.keys()];
  }

  /** Gates that were ordered shut and are still believed open. */
  awaitingShut(ordered: Float64Array): number[] {
    return [...this.#pending.keys()].filter((gate) => ordered[gate] === 0);
  }

  /** The readings have been understood as that gate's move. For how long the lay needs to come to rest, ms. */
  done(gate: number, ordered: Float64Array): number {
    const pending = this.#pending.get(gate);
    this.#pending.delete(gate);
    return pending ? holdMs(ordered[gate]!, pending.before) : 0;
  }

  /** Positions in force, of those ordered. */
  inForce(ordered: Float64Array): Float64Array {
    const out = ordered.slice();
    for (const [gate, { before }] of this.#pending) out[gate] = before;
    return out;
  }

  /**
   * Settles what the readings show to be done. Returns for how long the lay needs to come to rest, ms; 0: nothing
   * changed.
   */
  settle(
    expectation: Expectation,
    belief: ParameterEstimate,
    boundary: Boundary,
    readings: Float64Array,
    ordered: Float64Array,
    nowMs: number,
  ): number {
    let longestMs = 0;
    for (const [gate, pending] of [...this.#pending]) {
      const line = ordered[gate]! > pending.before ? expectation.layout.gates[gate]!.line : null;
      const asked =
        line === null
          ? readings
          : readings.map((value, index) => (expectation.gauges[index]!.sensor.line === line ? NaN : value));
      const distance = (opening: number): number => {
        const gateOpening = this.inForce(ordered);
        gateOpening[gate] = opening;
        const prediction = expectation.predict(belief, { ...boundary, gateOpening });
        return prediction ? distanceOf(expectation, prediction.values, asked) : Infinity;
      };
      pending.frames = distance(ordered[gate]!) < distance(pending.before) ? pending.frames + 1 : 0;
      if (pending.frames < SURE_FRAMES && nowMs - pending.atMs < LONGEST_MS) continue;
      this.#pending.delete(gate);
      longestMs = Math.max(longestMs, holdMs(ordered[gate]!, pending.before));
    }
    return longestMs;
  }
}

const holdMs = (ordered: number, before: number): number => (ordered > before ? OPEN_HOLD_MS : SHUT_HOLD_MS);

function distanceOf(expectation: Expectation, predicted: Float64Array, readings: Float64Array): number {
  return expectation.gauges.reduce((sum, { kind, sensor }, index) => {
    if (kind !== 'flow' && kind !== 'end') return sum;
    const gap = readings[index]! - predicted[index]!;
    return Number.isFinite(gap) ? sum + gap ** 2 / (sensor.noiseSd ** 2 + (MODEL_SHARE * readings[index]!) ** 2) : sum;
  }, 0);
}
