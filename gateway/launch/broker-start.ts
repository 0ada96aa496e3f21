/**
 * The broker of a start: the one inside the gateway, or one outside.
 *
 * In: options, the layout, who may come in. Out: its address, and as it may be shown; the embedded one if there is one,
 * with an account for the simulator that never leaves the machine.
 */
import { readFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { resolve } from 'node:path';
import type { Layout } from '../../config/layout/layout.ts';
import { mappingsFor, subscriptionOf } from '../../config/mapping/mapping.ts';
import { BrokerAccounts, SimulatorAccount } from '../access/broker-accounts.ts';
import { openEmbeddedBroker, type EmbeddedBroker } from '../ingest/transport/embedded-broker.ts';
import {
  openMqttSource,
  sessionName,
  topicsOf,
  type MqttSource,
  type SourcePacket,
} from '../ingest/transport/mqtt-source.ts';
import type { BrokerGate } from '../ingest/transport/seats.ts';
import type { RunLoop } from '../site/run-loop.ts';
import type { Entrance } from './entrance.ts';
import { onFreePort } from './free-port.ts';
import { withoutPassword, type Options } from './options.ts';
import { orRefuse } from './refusal.ts';
import type { Voice } from './terminal.ts';

const PORT = 1883;

export interface Broker {
  readonly url: string;
  /** The same without a password. */
  readonly shown: string;
  /** Null: it is outside. */
  readonly embedded: EmbeddedBroker | null;
  /** Its address for the simulator. */
  readonly simulatorUrl: string;
}

export async function startBroker(options: Options, layout: Layout, entrance: Entrance): Promise<Broker> {
  const simulator = new SimulatorAccount();
  if (options.broker !== null) {
    const url = options.broker;
    return { url, shown: withoutPassword(url), embedded: null, simulatorUrl: url };
  }
  const { devices } = entrance.credentials;
  const guards = {
    gate: devices.size > 0 ? gateOf(new BrokerAccounts(layout.site, devices, layout.mappings, simulator)) : null,
    tls: entrance.tls,
    foreign: (topic: string) => mappingsFor(layout.mappings, topic).length > 0,
    isSimulator: (user: string | undefined, password: Uint8Array | undefined) => simulator.is(user, password),
  };
  const { opened } = orRefuse(
    await onFreePort(options.listen, options.brokerPort, PORT, (port) =>
      openEmbeddedBroker(options.listen, port, guards),
    ),
  );
  const { url } = opened;
  return { url, shown: withoutPassword(url), embedded: opened, simulatorUrl: simulator.addressOf(url) };
}

function gateOf(accounts: BrokerAccounts): BrokerGate {
  return {
    authenticate: (user, password, address) => accounts.authenticate(user, password, address, Date.now()),
    mayPublish: (account, topic) => accounts.mayPublish(account, topic),
    maySubscribe: (account, filter) => accounts.maySubscribe(account, filter),
    isPaced: (account) => accounts.isPaced(account),
  };
}

/** The embedded broker hands its packets over inside the process. */
export function hearEmbedded(
  embedded: EmbeddedBroker,
  layout: Layout,
  loop: RunLoop,
  hear: (packet: SourcePacket) => void,
): void {
  embedded.hear(topicsOf(layout.site, layout.mappings.map(subscriptionOf)), hear, hear);
  loop.connection('connected');
}

/** What is wrong with the connection to a broker outside is said once, until it is there again. */
export function hearOutside(
  { url, shown }: Broker,
  options: Options,
  layout: Layout,
  loop: RunLoop,
  hear: (packet: SourcePacket) => void,
  { say }: Voice,
): MqttSource {
  let told: string | null = null;
  return openMqttSource(
    url,
    layout.site,
    sessionName(layout.site, hostname(), resolve(options.data)),
    {
      packet: hear,
      state: (state, why) => {
        loop.connection(state);
        if (why !== null && why !== told) say(`No connection to the broker ${shown}: ${why}. Trying again.`);
        told = state === 'connected' ? null : (why ?? told);
      },
    },
    options.brokerCa === null ? undefined : readFileSync(options.brokerCa),
    layout.mappings.map(subscriptionOf),
  );
}
