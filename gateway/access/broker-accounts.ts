/**
 * Who may speak for which device on the broker inside, and who may listen to what.
 *
 * In: user name and password of a connection, topics and filters it wants. Out: an account, yes or no. A device
 * publishes below its own topic, or where the site file maps its packets from, and hears nothing else; the gateway
 * hears all, without an account, inside the process; the bundled simulator plays all devices of its site, with a fresh
 * secret made at each start and handed on inside the machine. It has that also where no device needs an account, so
 * that no other simulator passes for it.
 */
import { createHash, timingSafeEqual } from 'node:crypto';
import { speakersOn, type Mapping } from '../../config/mapping/mapping.ts';
import { networkOf } from './sessions.ts';
import { freshSecret, opens } from './passphrase.ts';
import { Throttle } from './sign-in-delay.ts';

/** A name that no device can have, because a device's begins with a letter or a digit. */
const SIMULATOR = ':simulator';
/** Over all devices: each costs some 30 ms of one core. */
const TRIES_A_SECOND = 30;
/** Beyond this a device is turned away at once, and comes again by itself. */
const IN_LINE_MAX = 100;

/** The account of the simulator that this gateway starts. */
export class SimulatorAccount {
  readonly #secret = freshSecret(8);

  /** The broker's address with the account in it; never to be shown or logged. */
  addressOf(broker: string): string {
    const url = new URL(broker);
    url.username = encodeURIComponent(SIMULATOR);
    url.password = this.#secret;
    return url.href;
  }

  is(user: string | undefined, password: Uint8Array | undefined): boolean {
    return user === SIMULATOR && password !== undefined && isSame(new TextDecoder().decode(password), this.#secret);
  }
}

export class BrokerAccounts {
  readonly #site: string;
  readonly #devices: ReadonlyMap<string, string>;
  readonly #mappings: readonly Mapping[];
  readonly #simulator: SimulatorAccount;
  readonly #throttle = new Throttle(TRIES_A_SECOND);
  #inLine = 0;

  constructor(
    site: string,
    devices: ReadonlyMap<string, string>,
    mappings: readonly Mapping[] = [],
    simulator = new SimulatorAccount(),
  ) {
    this.#simulator = simulator;
    this.#site = site;
    this.#devices = devices;
    this.#mappings = mappings;
  }

  simulatorAddress(broker: string): string {
    return this.#simulator.addressOf(broker);
  }

  async authenticate(
    user: string | undefined,
    password: Uint8Array | undefined,
    address: string,
    nowMs: number,
  ): Promise<string | null> {
    if (user === undefined || password === undefined) return null;
    const secret = new TextDecoder().decode(password);
    if (user === SIMULATOR) return this.#simulator.is(user, password) ? user : null;
    const sealed = this.#devices.get(user);
    const who = `${networkOf(address)} ${user}`;
    if (sealed === undefined || this.#inLine >= IN_LINE_MAX || this.#throttle.begin(who, nowMs) > 0) return null;
    this.#inLine += 1;
    const right = await opens(secret, sealed).finally(() => (this.#inLine -= 1));
    if (!right) return null;
    this.#throttle.passed(who);
    return user;
  }

  mayPublish(account: string, topic: string): boolean {
    if (account === SIMULATOR) return topic.startsWith(`wetdown/${this.#site}/`);
    return topic.startsWith(`wetdown/${this.#site}/${account}/`) || speakersOn(this.#mappings, topic).includes(account);
  }

  /** The simulator may play a night in a minute. */
  isPaced(account: string): boolean {
    return account !== SIMULATOR;
  }

  maySubscribe(account: string, filter: string): boolean {
    // Wildcards can only stand behind what is fixed here.
    return filter.startsWith(
      account === SIMULATOR ? `wetdown/${this.#site}/simulation` : `wetdown/${this.#site}/${account}/`,
    );
  }
}

function isSame(one: string, other: string): boolean {
  const digest = (text: string): Buffer => createHash('sha256').update(text).digest();
  return timingSafeEqual(digest(one), digest(other));
}
