/**
 * Keeps the WebSocket to the gateway: opens it, notices when it has gone quiet, opens it again with back-off.
 *
 * Out: each message, and the state of the link whenever it changes. The gateway speaks about once a second, so silence
 * for QUIET_MS on an open socket means a dead link, whatever the socket itself believes.
 */
import type { LiveMessage } from '../../config/wire/live.ts';

export type LinkState =
  | { readonly name: 'connecting' }
  | { readonly name: 'open' }
  | { readonly name: 'waiting'; readonly retryAtMs: number };

interface Ears {
  readonly message: (message: LiveMessage) => void;
  readonly state: (state: LinkState) => void;
}

/** Judgement: ten missed pictures. */
const QUIET_MS = 10_000;
const FIRST_WAIT_MS = 1_000;
const LONGEST_WAIT_MS = 15_000;

/**
 * Wait before try number `tries` (from 0), with up to a quarter of it at random so that many screens do not knock at
 * once.
 */
export function waitMs(tries: number, dice: number): number {
  const base = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** tries);
  return base * (1 + 0.25 * dice);
}

export class LiveLink {
  readonly #address: string;
  readonly #ears: Ears;
  #socket: WebSocket | null = null;
  #tries = 0;
  #quiet: ReturnType<typeof setTimeout> | undefined;
  #retry: ReturnType<typeof setTimeout> | undefined;

  constructor(address: string, ears: Ears) {
    this.#address = address;
    this.#ears = ears;
  }

  open(): void {
    clearTimeout(this.#retry);
    this.#drop();
    this.#ears.state({ name: 'connecting' });
    const socket = new WebSocket(this.#address);
    this.#socket = socket;
    socket.onopen = () => this.#ears.state({ name: 'open' });
    socket.onmessage = (event) => this.#take(event.data);
    socket.onclose = () => {
      if (this.#socket === socket) this.#later();
    };
    this.#listen();
  }

  #take(data: unknown): void {
    this.#tries = 0;
    this.#listen();
    const message = readMessage(data);
    if (message) this.#ears.message(message);
  }

  #listen(): void {
    clearTimeout(this.#quiet);
    this.#quiet = setTimeout(() => this.#later(), QUIET_MS);
  }

  #later(): void {
    this.#drop();
    const wait = waitMs(this.#tries, Math.random());
    this.#tries += 1;
    this.#ears.state({ name: 'waiting', retryAtMs: Date.now() + wait });
    this.#retry = setTimeout(() => this.open(), wait);
  }

  #drop(): void {
    clearTimeout(this.#quiet);
    const socket = this.#socket;
    this.#socket = null;
    socket?.close();
  }
}

function readMessage(data: unknown): LiveMessage | null {
  if (typeof data !== 'string') return null;
  try {
    const message: unknown = JSON.parse(data);
    if (typeof message !== 'object' || message === null || !('type' in message)) return null;
    return message.type === 'site' || message.type === 'picture' || message.type === 'values'
      ? (message as LiveMessage)
      : null;
  } catch {
    return null;
  }
}
