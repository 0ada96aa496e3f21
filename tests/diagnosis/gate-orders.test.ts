/**
 * An order is believed when the readings show it, and what follows from that: on readings that the model itself gives
 * for a gate in its old and in its new position, so that nothing but the order is judged. Pressures are invented.
 */
import { describe, expect, it } from 'vitest';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';
import type { Boundary } from '../../gateway/core/diagnosis/model/gauge.ts';
import { NetworkMonitor } from '../../gateway/core/diagnosis/network-monitor.ts';
import { GateOrders } from '../../gateway/core/operations/gate-orders.ts';
import { Operations } from '../../gateway/core/operations/operations.ts';
import { PendingOrders } from '../../gateway/core/operations/pending-orders.ts';
import { blankFinding } from '../support/blank-finding.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const lay = new NetworkMonitor(layout);
const GATE = layout.gates.findIndex(({ id }) => id === 'thief-c');
const LINE = layout.gates[GATE]!.line!;
const OPEN = Float64Array.from(layout.gates, () => 1);
const SHUT = OPEN.with(GATE, 0);
/** Pressures run on for so long after a line was shut, and while one fills again. */
const [AFTER_SHUT_MS, AFTER_OPEN_MS] = [6_000, 45_000];

const boundary = (gateOpening: Float64Array): Boundary => ({
  dischargePa: Float64Array.of(700_000),
  suctionPa: Float64Array.of(-20_000),
  flowM3s: Float64Array.of(NaN),
  speedRatio: Float64Array.of(1),
  levelM: Float64Array.of(NaN),
  gateOpening,
});
/** What gauges read with the gates so; NaN where the model cannot say. */
const readings = (gates: Float64Array): Float64Array => lay.expectation.predict(lay.belief, boundary(gates))!.values;
const [READ_OPEN, READ_SHUT] = [readings(OPEN), readings(SHUT)];
const only = (values: Float64Array, kept: (gauge: (typeof lay.gauges)[number]) => boolean): Float64Array =>
  values.map((value, index) => (kept(lay.gauges[index]!) ? value : NaN));

/** Orders of one gate, at second 0, and the seconds after them. */
class Order {
  readonly pending = new PendingOrders();
  readonly ordered: Float64Array;

  constructor(before: number) {
    this.ordered = OPEN.with(GATE, 1 - before);
    this.pending.order(GATE, before, 0);
  }
  settle(second: number, read: Float64Array): number {
    return this.pending.settle(
      lay.expectation,
      lay.belief,
      boundary(this.pending.inForce(this.ordered)),
      read,
      this.ordered,
      1_000 * second,
    );
  }
  get awaited(): boolean {
    return this.pending.awaited.includes(GATE);
  }
}

describe('an order to shut', () => {
  it('is in force from the second reading in a row that shows it, and the lay is given its time to come to rest', () => {
    const order = new Order(1);
    expect([...order.pending.inForce(order.ordered)]).toEqual([...OPEN]);
    expect(order.settle(1, READ_SHUT)).toBe(0);
    expect(order.awaited).toBe(true);
    expect(order.settle(2, READ_SHUT)).toBe(AFTER_SHUT_MS);
    expect(order.awaited).toBe(false);
    expect([...order.pending.inForce(order.ordered)]).toEqual([...SHUT]);
  });

  it('is not believed by two readings with another between them', () => {
    const order = new Order(1);
    for (const [second, read] of [READ_SHUT, READ_OPEN, READ_SHUT, READ_OPEN].entries())
      expect(order.settle(second + 1, read)).toBe(0);
    expect(order.awaited).toBe(true);
  });

  it('is taken for done after two minutes, whatever the readings show, and not a second before', () => {
    const order = new Order(1);
    expect(order.settle(119, READ_OPEN)).toBe(0);
    expect(order.settle(120, READ_OPEN)).toBe(AFTER_SHUT_MS);
    expect(order.awaited).toBe(false);
  });

  it('is seen by the flow meter alone, and by line ends alone', () => {
    for (const kind of ['flow', 'end'] as const) {
      const order = new Order(1);
      const read = only(READ_SHUT, (gauge) => gauge.kind === kind);
      order.settle(1, read);
      expect(order.settle(2, read), kind).toBe(AFTER_SHUT_MS);
    }
  });

  it('is over when something else has shown that it is done', () => {
    const order = new Order(1);
    expect(order.pending.done(GATE, order.ordered)).toBe(AFTER_SHUT_MS);
    expect(order.awaited).toBe(false);
    expect(order.pending.done(GATE, order.ordered)).toBe(0);
  });
});

describe('an order to open', () => {
  it('is in force while the line itself still fills: its own end is not asked, and it is given the time to fill', () => {
    const order = new Order(0);
    const filling = READ_OPEN.map((value, index) => (lay.gauges[index]!.sensor.line === LINE ? 0 : value));
    expect(order.settle(1, filling)).toBe(0);
    expect(order.settle(2, filling)).toBe(AFTER_OPEN_MS);
  });
});

/** A lay that was told what it has found, and keeps what it is told to do. */
class ToldLay extends NetworkMonitor {
  readonly deeds: string[] = [];
  readonly #found: readonly Finding[];
  readonly #moved: readonly number[];

  constructor(found: readonly Finding[], moved: readonly number[] = []) {
    super(layout);
    this.#found = found;
    this.#moved = moved;
  }
  override get findings(): readonly Finding[] {
    return this.#found;
  }
  override get moved(): readonly number[] {
    return this.#moved;
  }
  override restart(nowMs: number, restMs: number): void {
    this.deeds.push(`rests until ${nowMs + restMs}`);
  }
  override forget(fromMs = -Infinity): void {
    this.deeds.push(`forgets from ${fromMs}`);
  }
}

describe('the gates of a lay', () => {
  /** What a lay with these findings is told in second 100, after thief-c was ordered shut at 95. */
  function told(found: readonly Finding[], moved: readonly number[] = []): string[] {
    const gates = new GateOrders(layout);
    gates.order({ kind: 'gate', by: 'AB', gate: 'thief-c', opening: 0 }, 95_000);
    const one = new ToldLay(found, moved);
    gates.settle(one, boundary(OPEN), READ_OPEN, 100_000);
    return one.deeds;
  }

  it('leave the lay alone while nothing shows that a hand has moved', () => {
    expect(told([])).toEqual([]);
    expect(told([blankFinding('restriction', 'line-d'), blankFinding('leak', LINE)])).toEqual([]);
  });

  it('put down to the order what keeps water from that line, whenever it began', () =>
    expect(told([blankFinding('restriction', LINE)])).toEqual(['rests until 106000', 'forgets from -Infinity']));

  it('forget only what began as the hand moved where the diagnosis saw the move itself', () =>
    expect(told([], [GATE])).toEqual(['rests until 106000', 'forgets from 85000']));
});

describe('the record of what people told', () => {
  const notes = (operations: Operations): string[] => operations.notes.map(({ words, by }) => `${by}: ${words}`);

  it('says how far a gate was ordered open', () => {
    const operations = new Operations(layout);
    for (const opening of [0, 0.4]) operations.setGate({ kind: 'gate', by: 'AB', gate: 'thief-c', opening }, 0);
    expect(notes(operations)).toEqual(['AB: thief-c set to 40 % by order', 'AB: thief-c shut by order']);
  });

  it('says who looked where and what was found', () => {
    const operations = new Operations(layout);
    operations.looked({ kind: 'looked', by: 'AB', at: 'thief-c', found: 'nothing-wrong' }, 0);
    expect(notes(operations)).toEqual(['AB: Looked at thief-c: nothing wrong']);
  });

  it('says who ended a mode, and nothing where none was on', () => {
    const operations = new Operations(layout);
    const end = { kind: 'mode', by: 'CD', mode: null, minutes: 0 } as const;
    operations.setMode(end, 0);
    operations.setMode({ kind: 'mode', by: 'AB', mode: 'filling', minutes: 5 }, 0);
    operations.setMode(end, 60_000);
    expect(notes(operations)).toEqual(["CD: Mode 'filling' ended", "AB: Mode 'filling' for 5 min"]);
  });
});
