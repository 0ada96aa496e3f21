/**
 * Where packets of devices lie that the layout does not know, each with the last that it sent, until somebody says whose they are.
 *
 * Bounded: of more strangers than TRAY_MAX the one that was silent for longest is forgotten.
 */
import type { FeedPicture } from '../../config/wire.ts';
import { printable } from './refusal.ts';

type Stranger = FeedPicture['unknownDevices'][number];

/** Judgement: more strangers than this are not looked at one by one. */
const TRAY_MAX = 40;
export const SHOWN_CHARACTERS = 400;

export class Tray {
  readonly #strangers = new Map<string, Stranger>();

  put(device: string, lastMs: number, topic: string, payload: Uint8Array): void {
    const name = printable(device, SHOWN_CHARACTERS);
    if (!this.#strangers.has(name) && this.#strangers.size >= TRAY_MAX) this.#strangers.delete([...this.#strangers.keys()][0] ?? '');
    this.#strangers.delete(name);
    this.#strangers.set(name, { device: name, lastMs, topic: printable(topic, SHOWN_CHARACTERS), packet: shownPayload(payload) });
  }

  get picture(): readonly Stranger[] {
    return [...this.#strangers.values()];
  }
}

export function shownPayload(payload: Uint8Array): string {
  return printable(new TextDecoder().decode(payload.subarray(0, 4 * SHOWN_CHARACTERS)), SHOWN_CHARACTERS);
}
