/**
 * The seats in the broker inside: which account each connected client has, what it may, and what it waits for.
 *
 * In: clients with user name and password, their packets. Out: whether they are let in, may publish or subscribe, how
 * long they wait (ms); packets handed over, with the way to acknowledge them. One that holds a client name keeps it
 * against other accounts. Limit: a client with HELD_MAX packets that wait for a disk is not read until one is on it.
 */
import type { Client } from 'aedes';
import type { SourcePacket } from './mqtt-source.ts';
import { PublishPace } from './publish-pace.ts';

/** Who is who, and who may what. */
export interface BrokerGate {
  /** The account's name, or null. */
  readonly authenticate: (
    user: string | undefined,
    password: Uint8Array | undefined,
    address: string,
  ) => Promise<string | null>;
  readonly mayPublish: (account: string, topic: string) => boolean;
  readonly maySubscribe: (account: string, filter: string) => boolean;
  /** Whether it is held to the pace of a device. */
  readonly isPaced: (account: string) => boolean;
}

/** Whether these are the name and the password of the simulator that this gateway starts. */
export type IsSimulator = (user: string | undefined, password: Uint8Array | undefined) => boolean;

/** Judgement: hours of a device; what sends more waits until something is on disk. */
const HELD_MAX = 10_000;

/** The library's own way to make a client go on reading, which its types leave out. */
interface Reading extends Client {
  resume(): void;
}

export class Seats {
  readonly #gate: BrokerGate | null;
  readonly #isSimulator: IsSimulator;
  readonly #bundled = new WeakSet<Client>();
  readonly #accounts = new WeakMap<Client, string>();
  readonly #addresses = new WeakMap<Client, string>();
  readonly #holders = new Map<string, Client>();
  /** By account, so that a device gains nothing from many connections. */
  readonly #paces = new Map<string, PublishPace>();
  /** How many of a client's packets are not acknowledged. */
  readonly #held = new WeakMap<Client, number>();

  constructor(gate: BrokerGate | null, isSimulator: IsSimulator) {
    this.#gate = gate;
    this.#isSimulator = isSimulator;
  }

  from(client: Client, address: string): void {
    this.#addresses.set(client, address);
  }

  async take(client: Client, user: string | undefined, password: Uint8Array | undefined): Promise<boolean> {
    if (this.#isSimulator(user, password)) this.#bundled.add(client);
    if (!this.#gate) return true;
    const account = await this.#gate.authenticate(user, password, this.#addresses.get(client) ?? '');
    const holder = this.#holders.get(client.id);
    const held = holder !== undefined && !holder.closed && this.#accounts.get(holder) !== account;
    if (account === null || held || client.closed) return false;
    this.#accounts.set(client, account);
    this.#holders.set(client.id, client);
    return true;
  }

  leave(client: Client): void {
    if (this.#holders.get(client.id) === client) this.#holders.delete(client.id);
  }

  accountOf(client: Client): string | null {
    return this.#accounts.get(client) ?? null;
  }

  /** Whether it is the simulator that this gateway started. */
  isBundled(client: Client): boolean {
    return this.#bundled.has(client);
  }

  mayPublish(client: Client, topic: string): boolean {
    return !this.#gate || this.#gate.mayPublish(this.accountOf(client) ?? '', topic);
  }

  waitMs(client: Client | null, bytes: number): number {
    const account = client && this.#accounts.get(client);
    if (!account || !this.#gate?.isPaced(account)) return 0;
    const pace = this.#paces.get(account) ?? new PublishPace();
    this.#paces.set(account, pace);
    return pace.waitMs(performance.now(), bytes);
  }

  /**
   * Hands a packet over. The library acknowledges it, and hands it to other clients, when it is `done`; without more,
   * it would read nothing of its sender before. So a device is heard on while its packets wait for a disk, as far as
   * its own window reaches.
   */
  hold(
    client: Client,
    qos: number,
    packet: SourcePacket,
    hand: (packet: SourcePacket) => void,
    done: () => void,
  ): void {
    if (qos === 0) {
      hand(packet);
      done();
      return;
    }
    const held = (this.#held.get(client) ?? 0) + 1;
    this.#held.set(client, held);
    hand({
      ...packet,
      acknowledge: () => {
        this.#held.set(client, (this.#held.get(client) ?? 1) - 1);
        done();
      },
    });
    if (held < HELD_MAX) setImmediate(() => client.closed || (client as Reading).resume());
  }

  maySubscribe(client: Client, filter: string): boolean {
    return !this.#gate || this.#gate.maySubscribe(this.#accounts.get(client) ?? '', filter);
  }
}
