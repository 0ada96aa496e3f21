/**
 * Puts the gateway together and starts it: broker, journal, core, server, simulator. Nothing is decided here.
 *
 * In: the command line. Out: one address to open. Exit codes: 0 after a signal or --help, 2 when it cannot start.
 */
import { mkdirSync, readFileSync, accessSync, constants } from 'node:fs';
import { hostname } from 'node:os';
import { join, resolve } from 'node:path';
import { mappingsFor, subscriptionOf } from '../config/mapping/mapping.ts';
import { BrokerAccounts, SimulatorAccount } from './access/broker-accounts.ts';
import { NO_CREDENTIALS, readCredentials, type Credentials } from './access/credentials.ts';
import { Sessions } from './access/sessions.ts';
import { openEmbeddedBroker, type BrokerGate } from './ingest/transport/embedded-broker.ts';
import {
  openMqttSource,
  sessionName,
  topicsOf,
  type MqttSource,
  type SourcePacket,
} from './ingest/transport/mqtt-source.ts';
import { Journal } from './journal/journal.ts';
import { onFreePort } from './launch/free-port.ts';
import { hasPassphrase, isLoopback, openedWords, openingFault, readTls } from './launch/exposure.ts';
import { HELP, parseOptions, simulatedFrom, withoutPassword, type Options } from './launch/options.ts';
import { startSimulator } from './launch/simulator-child.ts';
import { readSiteFile } from './launch/site-file.ts';
import { Terminal } from './launch/terminal.ts';
import { recordPath, startReplay } from './launch/replay-start.ts';
import { ReviewDesk } from './review/review-desk.ts';
import { RunLoop } from './site/run-loop.ts';
import { buildServer, type Server } from './server/app.ts';
import { createWatch } from './core/watch.ts';

const TICK_MS = 250;
/** Judgement: a hand on a throttle sees no delay. */
const VALUES_MS = 100;
const SCREEN_PORT = 8080;
const BROKER_PORT = 1883;
const SCREEN_FOLDER = resolve('.build/ui');

/** Judgement: of a log that can still be written. */
const LAST_LINES_MS = 1_000;
const terminal = new Terminal(1);
const complaints = new Terminal(2);

function say(words: string): void {
  terminal.say(words);
}

function fail(words: string): never {
  complaints.last(words);
  process.exit(2);
}

function openFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
    accessSync(folder, constants.W_OK);
  } catch (error) {
    fail(`Cannot write to the data folder ${folder}: ${error instanceof Error ? error.message : String(error)}`);
  }
}

function readBuild(): string {
  const { version } = JSON.parse(readFileSync('package.json', 'utf8')) as { version: string };
  try {
    return `${version}-${readFileSync(join(SCREEN_FOLDER, '../ui-stamp'), 'utf8').slice(0, 12)}`;
  } catch {
    return version;
  }
}

/** A fault of our own must not end the record of a site that nobody stands at. */
function goOn(act: () => void): void {
  try {
    act();
  } catch (error) {
    complaints.say(`A fault in the gateway itself: ${error instanceof Error ? error.stack : String(error)}`);
  }
}

async function listening<Opened>(
  host: string,
  asked: number | null,
  usual: number,
  listen: (port: number) => Promise<Opened>,
): Promise<{ port: number; opened: Opened }> {
  const result = await onFreePort(host, asked, usual, listen);
  return result.ok ? result : fail(result.why);
}

function credentialsFor(options: Options): Credentials {
  const file =
    options.credentials === null
      ? { ok: true as const, credentials: NO_CREDENTIALS }
      : readCredentials(options.credentials);
  if (!file.ok) fail(file.why);
  const fault = openingFault(options, file.credentials);
  return fault === null ? file.credentials : fail(fault);
}

function gateOf(accounts: BrokerAccounts): BrokerGate {
  return {
    authenticate: (user, password, address) => accounts.authenticate(user, password, address, Date.now()),
    mayPublish: (account, topic) => accounts.mayPublish(account, topic),
    maySubscribe: (account, filter) => accounts.maySubscribe(account, filter),
    isPaced: (account) => accounts.isPaced(account),
  };
}

function screenAddress(options: Options, port: number): string {
  return `${options.tls ? 'https' : 'http'}://${options.host.includes(':') ? `[${options.host}]` : options.host}:${port}`;
}

async function replay(options: Options, asked: string): Promise<() => Promise<void>> {
  const credentials = credentialsFor(options);
  const files = readTls(options.tls);
  if (!files.ok) fail(files.why);
  const path = recordPath(asked, options.data);
  const shared = {
    screen: SCREEN_FOLDER,
    loopbackOnly: isLoopback(options.host),
    door: hasPassphrase(credentials) ? new Sessions(credentials) : null,
    told: say,
    tls: files.tls,
  };
  const started = await startReplay(path, readBuild(), shared);
  if (!started.ok) fail(started.why);
  const { port } = await listening(options.host, options.port, SCREEN_PORT, (wanted) =>
    started.server.app.listen({ host: options.host, port: wanted }),
  );
  say(`replay:  ${path}${started.player.record.header.simulated ? ' (SIMULATION)' : ''}`);
  for (const line of openedWords(options, credentials, { screen: port, broker: null })) say(line);
  say(`wetdown: ${screenAddress(options, port)}`);
  return started.stop;
}

/**
 * Packets go to the loop as they come. What senders wait for is written once ten times the last commit's time has
 * passed, so that the disk has work for a tenth of the time, or at once when many wait; the ticks set the upper bound.
 */
function hearing(loop: RunLoop): (packet: SourcePacket) => void {
  let commitMs = 0;
  let due: NodeJS.Timeout | null = null;
  let atOnce = false;
  const write = (): void => {
    if (due) clearTimeout(due);
    due = null;
    atOnce = false;
    const startMs = performance.now();
    goOn(() => loop.flush());
    commitMs = performance.now() - startMs;
  };
  return (packet) => {
    goOn(() => loop.packet(packet));
    if (atOnce || packet.acknowledge === undefined) return;
    atOnce = loop.batchFull;
    if (atOnce) setImmediate(write);
    else due ??= setTimeout(write, Math.min(10 * commitMs, TICK_MS));
  };
}

async function start(options: Options): Promise<() => Promise<void>> {
  if (options.replay !== null) return replay(options, options.replay);
  const file = readSiteFile(options.site);
  if (!file.ok) fail(file.why);
  const credentials = credentialsFor(options);
  const files = readTls(options.tls);
  if (!files.ok) fail(files.why);
  const { tls } = files;
  openFolder(options.data);
  const { layout, text } = file;
  const simulatorAccount = new SimulatorAccount();
  const accounts =
    options.broker === null && credentials.devices.size > 0
      ? new BrokerAccounts(layout.site, credentials.devices, layout.mappings, simulatorAccount)
      : null;
  const guards = {
    gate: accounts && gateOf(accounts),
    tls,
    foreign: (topic: string) => mappingsFor(layout.mappings, topic).length > 0,
    isSimulator: (user: string | undefined, password: Uint8Array | undefined) => simulatorAccount.is(user, password),
  };
  const inside =
    options.broker === null
      ? await listening(options.listen, options.brokerPort, BROKER_PORT, (port) =>
          openEmbeddedBroker(options.listen, port, guards),
        )
      : null;
  const embedded = inside?.opened ?? null;
  const broker = options.broker ?? embedded?.url ?? '';
  const shownBroker = withoutPassword(broker);
  const build = readBuild();
  let server: Server | null = null;
  let source: MqttSource | null = null;
  const loop = new RunLoop({
    layout,
    layoutText: text,
    software: build,
    bundledSimulator: options.simulator,
    simulatedFrom: simulatedFrom(options),
    broker: shownBroker,
    makeWatch: createWatch,
    wallMs: () => Date.now(),
    openJournal: (facts, patient) => Journal.open(options.data, facts, patient),
    show: (picture, feed) => server?.live.publish({ type: 'picture', picture, feed }),
    restarted: () => server?.live.restart(),
    senders: embedded ? { again: embedded.again } : { hear: (how) => source?.hear(how), again: () => source?.again() },
  });
  const hear = hearing(loop);
  const foreign = layout.mappings.map(subscriptionOf);
  embedded?.hear(topicsOf(layout.site, foreign), hear, hear);
  if (embedded) loop.connection('connected');
  server = await buildServer({
    layout,
    build,
    screen: SCREEN_FOLDER,
    loopbackOnly: isLoopback(options.host),
    door: hasPassphrase(credentials) ? new Sessions(credentials) : null,
    told: say,
    tls,
    run: () => loop.run,
    latest: () => loop.latest,
    series: (channel, fromMs, toMs) => loop.series(channel, fromMs, toMs),
    enter: (entry, role) => loop.enter(entry, role),
    review: {
      player: null,
      desk: new ReviewDesk(() => ({ path: join(options.data, `${loop.run.name}.sqlite`), layout }), false),
    },
  });
  const { app, live } = server;
  const { port: wantedPort } = await listening(options.host, options.port, SCREEN_PORT, (wanted) =>
    app.listen({ host: options.host, port: wanted }),
  );
  const bound = app.server.address();
  const port = typeof bound === 'object' && bound ? bound.port : wantedPort;
  let told: string | null = null;
  source = embedded
    ? null
    : openMqttSource(
        broker,
        layout.site,
        sessionName(layout.site, hostname(), resolve(options.data)),
        {
          packet: hear,
          state: (state, why) => {
            loop.connection(state);
            if (why !== null && why !== told) say(`No connection to the broker ${shownBroker}: ${why}. Trying again.`);
            told = state === 'connected' ? null : (why ?? told);
          },
        },
        options.brokerCa === null ? undefined : readFileSync(options.brokerCa),
        foreign,
      );
  const tickers = [
    setInterval(() => goOn(() => loop.tick()), TICK_MS),
    setInterval(() => goOn(() => live.values(loop.news())), VALUES_MS),
  ];
  const simulator = options.simulator
    ? startSimulator(
        simulatorArgs(options),
        embedded ? simulatorAccount.addressOf(broker) : broker,
        options.brokerCa,
        say,
      )
    : null;
  say(`broker:  ${shownBroker}${embedded ? ' (inside the gateway)' : ''}`);
  say(`record:  ${join(options.data, loop.run.name)}.sqlite`);
  for (const line of openedWords(options, credentials, { screen: port, broker: embedded?.port ?? null })) say(line);
  say(`wetdown: ${screenAddress(options, port)}`);
  return async () => {
    await simulator?.stop();
    tickers.forEach(clearInterval);
    goOn(() => loop.flush());
    await source?.close();
    await app.close();
    await embedded?.close();
    loop.close();
  };
}

function simulatorArgs(options: Options): string[] {
  return [
    '--site',
    options.site,
    ...(options.scenario === null ? [] : ['--scenario', options.scenario]),
    ...(options.speed === null ? [] : ['--speed', options.speed]),
  ];
}

const parsed = parseOptions(process.argv.slice(2), process.env);
if (parsed.kind === 'wrong') fail(parsed.why);
if (parsed.kind === 'help') {
  terminal.last(HELP);
  process.exit(0);
}
let stop: (() => Promise<void>) | null = null;
let stopping = false;
async function end(why: string): Promise<void> {
  if (stopping) return;
  stopping = true;
  say(`Ending (${why}).`);
  await stop?.();
  const written = await Promise.all([terminal.settled(LAST_LINES_MS), complaints.settled(LAST_LINES_MS)]);
  // A line that nobody takes off the pipe would hold up an orderly exit for good.
  if (!written.every(Boolean)) process.kill(process.pid, 'SIGKILL');
  process.exit(0);
}
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => void end(signal));
// The launcher is gone: nobody could stop this process any more.
process.on('disconnect', () => void end('the launcher is gone'));
try {
  stop = await start(parsed.options);
} catch (error) {
  fail(`Cannot start: ${error instanceof Error ? error.message : String(error)}`);
}
