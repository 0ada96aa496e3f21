/**
 * The gates of a lay, as ordered and as believed: an order is no proof that a hand has moved.
 *
 * In: orders with their time; once a second the readings, and what the diagnosis found. Out: openings ordered and in
 * force (0 shut, 1 open, in the order of the layout), moves that are awaited, which lines are shut. When the readings
 * show a move the lay is given time to come to rest, and what began as the hand moved is put down to that hand.
 */
import { CAUSES } from '../../../config/causes/causes.ts';
import type { Layout } from '../../../config/layout/layout.ts';
import type { Entry } from '../../../config/wire/entry.ts';
import { orderedMove } from '../diagnosis/causes/gate-shut.ts';
import type { Hypothesis } from '../diagnosis/causes/hypothesis.ts';
import type { Boundary } from '../diagnosis/model/gauge.ts';
import type { NetworkMonitor } from '../diagnosis/network-monitor.ts';
import { PendingOrders } from './pending-orders.ts';

/** Judgement: between a gate's first turn and the readings' word for it. */
const HAND_MS = 15_000;

/** `words` for the record, or why the order was not taken. */
export interface OrderAnswer {
  readonly taken: boolean;
  readonly words: string;
}

export class GateOrders {
  readonly #layout: Layout;
  readonly #ordered: Float64Array;
  readonly #pending = new PendingOrders();

  constructor(layout: Layout) {
    this.#layout = layout;
    this.#ordered = Float64Array.from(layout.gates, (gate) => gate.opening);
  }

  get ordered(): Float64Array {
    return this.#ordered.slice();
  }

  /** As the model is to take them: the old position of a gate that is not seen to have moved. */
  get inForce(): Float64Array {
    return this.#pending.inForce(this.#ordered);
  }

  order({ gate: id, opening }: Extract<Entry, { kind: 'gate' }>, atMs: number): OrderAnswer {
    const { gates } = this.#layout;
    const index = gates.findIndex((gate) => gate.id === id);
    if (index < 0)
      return {
        taken: false,
        words: `There is no gate '${id}'. Gates here: ${gates.map((gate) => gate.id).join(', ')}.`,
      };
    if (!(opening >= 0 && opening <= 1)) return { taken: false, words: 'Opening goes from 0 (shut) to 1 (open).' };
    this.#pending.order(index, this.#ordered[index]!, atMs);
    this.#ordered[index] = opening;
    const way = opening === 0 ? 'shut' : `set to ${Math.round(opening * 100)} %`;
    return { taken: true, words: `${gates[index]!.label} ${way} by order` };
  }

  /** `opening`: of every gate; the one ordered, unless told otherwise. */
  shutByOrder(line: string, opening = this.#ordered): boolean {
    const gates = this.#layout.gates.flatMap((gate, index) => (gate.line === line ? [index] : []));
    return gates.length > 0 && gates.every((index) => opening[index] === 0);
  }

  /**
   * A line shut by order drains to whatever its hills hold: nothing to compare with. So does one whose gate is only
   * told to be open.
   */
  isIdle(line: string): boolean {
    return this.shutByOrder(line) || this.shutByOrder(line, this.inForce);
  }

  /** Moves that are ordered and not yet seen, as the diagnosis weighs them. */
  get awaited(): Hypothesis[] {
    return this.#pending.awaited.map((gate) => orderedMove(this.#layout, gate, this.#ordered[gate]!));
  }

  /** One second: takes for done what the readings show. `readings` of every gauge of the lay; NaN: none. */
  settle(lay: NetworkMonitor, boundary: Boundary, readings: Float64Array, nowMs: number): void {
    // A valve on its way shut looks like any other thing that keeps water from its line.
    const foundShut = this.#pending
      .awaitingShut(this.#ordered)
      .filter((gate) =>
        lay.findings.some(
          ({ cause, subject }) => CAUSES[cause].family === 'blocked' && subject === this.#layout.gates[gate]!.line,
        ),
      );
    const foundMs = Math.max(0, ...[...foundShut, ...lay.moved].map((gate) => this.#pending.done(gate, this.#ordered)));
    const restMs = Math.max(
      foundMs,
      this.#pending.settle(lay.expectation, lay.belief, boundary, readings, this.#ordered, nowMs),
    );
    if (restMs === 0) return;
    lay.restart(nowMs, restMs);
    // What began about when the hand moved is that hand.
    lay.forget(foundShut.length > 0 ? -Infinity : nowMs - HAND_MS);
  }
}
