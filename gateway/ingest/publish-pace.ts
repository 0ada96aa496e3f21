/**
 * How long the next packet of one account waits, so that a device gone wild fills neither the record nor the machine.
 *
 * In: a steady clock's time in ms at each packet. Out: ms to wait before it is taken; nothing is dropped, its sender is
 * slowed down. Method: the virtual-scheduling form of the generic cell rate algorithm (ITU-T I.371, from memory).
 * Judgement: a device sends a few packets a second, and thousands at once after hours without a network.
 */
const A_SECOND = 200;
const AT_ONCE = 2_000;
const STEP_MS = 1_000 / A_SECOND;

export class PublishPace {
  #dueMs = -Infinity;

  waitMs(nowMs: number): number {
    this.#dueMs = Math.max(this.#dueMs, nowMs - AT_ONCE * STEP_MS) + STEP_MS;
    return Math.max(0, this.#dueMs - nowMs);
  }
}
