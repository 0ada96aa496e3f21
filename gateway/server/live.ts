/**
 * The screens that listen on `/live`, and how much a slow one may hold up.
 *
 * In: messages. Out: the same bytes to every screen. A screen whose connection is full misses frames (each picture is
 * whole, so nothing is lost for good), and is cut off when it misses too many or no longer answers a ping; it will come
 * back. Values between pictures never queue: a newer one takes the place of one that could not be sent yet, and a
 * picture has them all.
 */
import type { WebSocket } from 'ws';
import type { LiveMessage } from '../../config/wire/live.ts';
import type { ChannelNews } from '../../config/wire/wire.ts';

const BUFFERED_MAX = 262_144;
/** Judgement: half a minute of frames. */
const SKIPPED_MAX = 30;
const PING_EVERY_MS = 10_000;
/** Judgement: screens of one site. */
const SCREENS_MAX = 100;

interface Screen {
  readonly allowed: () => boolean;
  skipped: number;
  answered: boolean;
  /** Values that could not be sent yet. */
  readonly owed: Map<string, ChannelNews>;
}

export class LiveFeed {
  readonly #screens = new Map<WebSocket, Screen>();
  readonly #pinger: NodeJS.Timeout;

  constructor() {
    this.#pinger = setInterval(() => this.#ping(), PING_EVERY_MS);
    this.#pinger.unref();
  }

  get count(): number {
    return this.#screens.size;
  }

  /** `allowed` is asked again and again: a session that ends takes its screen with it. */
  join(socket: WebSocket, allowed: () => boolean, greeting: readonly LiveMessage[]): void {
    socket.on('error', () => socket.terminate());
    if (this.#screens.size >= SCREENS_MAX) {
      socket.close(1013, 'too many screens');
      return;
    }
    const screen: Screen = { allowed, skipped: 0, answered: true, owed: new Map() };
    this.#screens.set(socket, screen);
    socket.on('pong', () => {
      screen.answered = true;
    });
    socket.on('close', () => this.#screens.delete(socket));
    for (const message of greeting) this.#send(socket, screen, bytesOf(message));
  }

  publish(message: LiveMessage): void {
    if (this.#screens.size === 0) return;
    const bytes = bytesOf(message);
    for (const [socket, screen] of this.#screens) if (this.#send(socket, screen, bytes)) screen.owed.clear();
  }

  /** To be called several times a second, also when nothing is new. */
  values(news: Extract<LiveMessage, { type: 'values' }>): void {
    let shared: Buffer | null = null;
    for (const [socket, screen] of this.#screens) {
      const isBehind = screen.owed.size > 0 || socket.bufferedAmount > 0;
      if (isBehind) for (const value of news.values) screen.owed.set(value.channel, value);
      if (socket.bufferedAmount > 0 || (isBehind ? screen.owed.size : news.values.length) === 0) continue;
      this.#send(
        socket,
        screen,
        isBehind ? bytesOf({ ...news, values: [...screen.owed.values()] }) : (shared ??= bytesOf(news)),
      );
      screen.owed.clear();
    }
  }

  /** Screens come back by themselves and are greeted anew. */
  restart(): void {
    for (const socket of this.#screens.keys()) socket.close(1012, 'a new run has begun');
  }

  close(): void {
    clearInterval(this.#pinger);
    for (const socket of this.#screens.keys()) socket.terminate();
  }

  #send(socket: WebSocket, screen: Screen, bytes: Buffer): boolean {
    if (socket.readyState !== socket.OPEN) return false;
    if (!screen.allowed()) {
      socket.close(1008, 'signed out');
      return false;
    }
    // The first message is always let through: a layout may be larger than the limit.
    if (socket.bufferedAmount > 0 && socket.bufferedAmount + bytes.length > BUFFERED_MAX) {
      screen.skipped += 1;
      if (screen.skipped > SKIPPED_MAX) socket.terminate();
      return false;
    }
    screen.skipped = 0;
    socket.send(bytes, { binary: false });
    return true;
  }

  #ping(): void {
    for (const [socket, screen] of this.#screens) {
      if (!screen.answered) {
        socket.terminate();
        continue;
      }
      screen.answered = false;
      socket.ping();
    }
  }
}

function bytesOf(message: LiveMessage): Buffer {
  return Buffer.from(JSON.stringify(message));
}
