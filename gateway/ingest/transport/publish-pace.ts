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
const STEP_BYTES = 65_536;

export class PublishPace {
  #dueMs = -Infinity;

  /** A large packet counts as several. */
  waitMs(nowMs: number, bytes = 0): number {
    const steps = 1 + Math.floor(bytes / STEP_BYTES);
    this.#dueMs = Math.max(this.#dueMs, nowMs - AT_ONCE * STEP_MS) + steps * STEP_MS;
    return Math.max(0, this.#dueMs - nowMs);
  }
}
