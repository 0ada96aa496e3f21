/**
 * How a foreign broker is heard while the disk fails, and which packets have come by both connections.
 *
 * A packet of the kept session is acknowledged when it is on disk, and a broker sends only some without that. So while
 * the disk fails, the session is left to the broker, which keeps its packets, and a connection without memory listens
 * along. Afterwards both are open until the session has caught up. In: packets with the wall's time. Out: how to hear
 * now; and whether a packet is the second copy of one. Equal packets are counted, not only noticed, so that the same
 * value sent twice stays two, dated or not. Limit: of what the broker has dropped from the session's queue, an undated
 * packet's twin that comes later may be taken for it.
 */
import { digest, type Delivery } from '../devices/duplicates.ts';

/** The kept session only; without it; or both. */
export type Hearing = 'kept' | 'along' | 'both';

/** Judgement: both connections bring a packet within this. */
const TOGETHER_MS = 1_000;
/** So long nothing old may have come before the session has caught up. */
const QUIET_MS = 10_000;
const TWINS_MAX = 20_000;

export class ParallelConnection {
  #how: Hearing = 'kept';
  #behindMs = 0;
  /** How many have come by one connection and not yet by the other, by content; of those along, when the last did. */
  readonly #along = new Map<number, { readonly count: number; readonly atMs: number }>();
  readonly #kept = new Map<number, number>();

  /** `connected`: what is asked for is there. */
  choose(diskFails: boolean, connected: boolean, wallMs: number): Hearing {
    if (this.#how === 'along' || !connected) this.#behindMs = wallMs;
    if (diskFails) this.#how = 'along';
    else if (this.#how === 'along') this.#how = 'both';
    else if (this.#how === 'both' && Math.abs(wallMs - this.#behindMs) >= QUIET_MS) this.forget();
    return this.#how;
  }

  forget(): void {
    if (this.#how === 'both') this.#how = 'kept';
    this.#along.clear();
    this.#kept.clear();
  }

  /** Whether the other connection has brought it. */
  isTwin(packet: Delivery, wallMs: number): boolean {
    if (this.#how === 'kept') return false;
    const key = digest(packet);
    if (packet.along) {
      const count = this.#kept.get(key) ?? 0;
      if (count > 1) this.#kept.set(key, count - 1);
      else this.#kept.delete(key);
      return count > 0;
    }
    const twin = this.#along.get(key);
    if (!twin) return false;
    if (twin.count > 1) this.#along.set(key, { ...twin, count: twin.count - 1 });
    else this.#along.delete(key);
    // What was sent at QoS 0 does not queue behind the rest.
    if (packet.messageId !== undefined && wallMs - twin.atMs > TOGETHER_MS) this.#behindMs = wallMs;
    return true;
  }

  /** It was kept: its twin need not be. */
  note(packet: Delivery, wallMs: number): void {
    if (this.#how === 'kept') return;
    const key = digest(packet);
    if (packet.along) {
      this.#along.set(key, { count: (this.#along.get(key)?.count ?? 0) + 1, atMs: wallMs });
      return;
    }
    if (this.#kept.size >= TWINS_MAX) this.#kept.clear();
    this.#kept.set(key, (this.#kept.get(key) ?? 0) + 1);
  }
}
