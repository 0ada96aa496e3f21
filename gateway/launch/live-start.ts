/**
 * Starts the gateway on a live site: broker, journal, core, server, simulator.
 *
 * In: options, where to say what. Out: how to stop it. What it says at the end is the address to open. A fault of its
 * own after that does not end the record of a site that nobody stands at.
 */
import { accessSync, constants, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Layout } from '../../config/layout/layout.ts';
import { createWatch } from '../core/watch.ts';
import type { MqttSource } from '../ingest/transport/mqtt-source.ts';
import { Journal } from '../journal/journal.ts';
import { ReviewDesk } from '../review/desk/review-desk.ts';
import { buildServer, type Server, type ServerParts } from '../server/app.ts';
import { pacedCommits } from '../site/commit-pace.ts';
import { RunLoop } from '../site/run-loop.ts';
import { hearEmbedded, hearOutside, startBroker, type Broker } from './broker-start.ts';
import { entranceOf, type Entrance } from './entrance.ts';
import { openedWords } from './exposure.ts';
import { simulatedFrom, type Options } from './options.ts';
import { orRefuse, refuse } from './refusal.ts';
import { listen, readBuild, SCREEN_FOLDER, screenAddress } from './screen.ts';
import { startSimulator, type SimulatorChild } from './simulator-child.ts';
import { readSiteFile } from './site-file.ts';
import type { Voice } from './terminal.ts';

const TICK_MS = 250;
/** Judgement: a hand on a throttle sees no delay. */
const VALUES_MS = 100;

/** What the loop speaks to: there once it has started. */
interface Reached {
  server: Server | null;
  source: MqttSource | null;
}

interface Site {
  readonly options: Options;
  readonly layout: Layout;
  readonly text: string;
  readonly build: string;
}

export async function startLive(options: Options, voice: Voice): Promise<() => Promise<void>> {
  const { layout, text } = orRefuse(readSiteFile(options.site));
  const entrance = entranceOf(options);
  openFolder(options.data);
  const broker = await startBroker(options, layout, entrance);
  const { embedded } = broker;
  const site = { options, layout, text, build: readBuild() };
  const reached: Reached = { server: null, source: null };
  const loop = loopOf(site, broker, reached);
  const hear = pacedCommits(loop, TICK_MS, voice.goOn);
  if (embedded) hearEmbedded(embedded, layout, loop, hear);
  const server = await buildServer(serverParts(site, entrance, loop, voice));
  reached.server = server;
  const port = await listen(server, options);
  if (!embedded) reached.source = hearOutside(broker, options, layout, loop, hear, voice);
  const tickers = [
    setInterval(() => voice.goOn(() => loop.tick()), TICK_MS),
    setInterval(() => voice.goOn(() => server.live.values(loop.news())), VALUES_MS),
  ];
  const simulator = options.simulator ? simulatorFor(options, broker, voice) : null;
  voice.say(`broker:  ${broker.shown}${embedded ? ' (inside the gateway)' : ''}`);
  voice.say(`record:  ${join(options.data, loop.run.name)}.sqlite`);
  const ports = { screen: port, broker: embedded?.port ?? null };
  for (const line of openedWords(options, entrance.credentials, ports)) voice.say(line);
  voice.say(`wetdown: ${screenAddress(options, port)}`);
  return async () => {
    await simulator?.stop();
    tickers.forEach(clearInterval);
    voice.goOn(() => loop.flush());
    await reached.source?.close();
    await server.app.close();
    await embedded?.close();
    loop.close();
  };
}

function openFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
    accessSync(folder, constants.W_OK);
  } catch (error) {
    refuse(`Cannot write to the data folder ${folder}: ${error instanceof Error ? error.message : String(error)}`);
  }
}

function loopOf({ options, layout, text, build }: Site, { shown, embedded }: Broker, reached: Reached): RunLoop {
  return new RunLoop({
    layout,
    layoutText: text,
    software: build,
    bundledSimulator: options.simulator,
    simulatedFrom: simulatedFrom(options),
    broker: shown,
    makeWatch: createWatch,
    wallMs: () => Date.now(),
    openJournal: (facts, patient) => Journal.open(options.data, facts, patient),
    show: (picture, feed) => reached.server?.live.publish({ type: 'picture', picture, feed }),
    restarted: () => reached.server?.live.restart(),
    senders: embedded
      ? { again: embedded.again }
      : { hear: (how) => reached.source?.hear(how), again: () => reached.source?.again() },
  });
}

function serverParts({ options, layout, build }: Site, entrance: Entrance, loop: RunLoop, { say }: Voice): ServerParts {
  const { tls, door, loopbackOnly } = entrance;
  return {
    layout,
    build,
    screen: SCREEN_FOLDER,
    loopbackOnly,
    door,
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
  };
}

function simulatorFor({ site, scenario, speed, brokerCa }: Options, broker: Broker, { say }: Voice): SimulatorChild {
  const args = [
    '--site',
    site,
    ...(scenario === null ? [] : ['--scenario', scenario]),
    ...(speed === null ? [] : ['--speed', speed]),
  ];
  return startSimulator(args, broker.simulatorUrl, brokerCa, say);
}
