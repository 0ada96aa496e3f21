/**
 * Starts the gateway on the record of a run instead of a broker: the same screens, every picture marked as a replay.
 *
 * In: options, the record. Out: a server with a player behind it, and how to stop it. Nothing is written into the run's
 * record; entries are refused, except what the crew found, which goes into a file beside it.
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { openRun, type RunReader } from '../journal/run-reader.ts';
import { Player } from '../replay/player.ts';
import { ReviewDesk } from '../review/desk/review-desk.ts';
import { buildServer, type Server, type ServerParts } from '../server/app.ts';
import { createWatch } from '../core/watch.ts';
import { entranceOf } from './entrance.ts';
import { openedWords } from './exposure.ts';
import type { Options } from './options.ts';
import { orRefuse } from './refusal.ts';
import { listen, readBuild, SCREEN_FOLDER, screenAddress } from './screen.ts';
import type { Voice } from './terminal.ts';

const TICK_MS = 100;
export const REFUSED =
  'This is a replay: what happened then cannot be changed. What the crew found goes on the screen Review.';

/** Path of a record: a file as it is, or a run's name in the data folder. */
export function recordPath(asked: string, data: string): string {
  const named = join(data, `${asked}.sqlite`);
  return !existsSync(asked) && existsSync(named) ? named : asked;
}

/** With the server on the air. */
export async function replayRun(options: Options, asked: string, { say }: Voice): Promise<() => Promise<void>> {
  const { credentials, ...entrance } = entranceOf(options);
  const path = recordPath(asked, options.data);
  const started = orRefuse(await startReplay(path, readBuild(), { screen: SCREEN_FOLDER, told: say, ...entrance }));
  const port = await listen(started.server, options);
  say(`replay:  ${path}${started.player.record.header.simulated ? ' (SIMULATION)' : ''}`);
  for (const line of openedWords(options, credentials, { screen: port, broker: null })) say(line);
  say(`wetdown: ${screenAddress(options, port)}`);
  return started.stop;
}

export type Replay =
  | { readonly ok: true; readonly player: Player; readonly server: Server; readonly stop: () => Promise<void> }
  | { readonly ok: false; readonly why: string };

export async function startReplay(
  path: string,
  build: string,
  shared: Pick<ServerParts, 'screen' | 'loopbackOnly' | 'door' | 'told' | 'tls'>,
): Promise<Replay> {
  const opened = openRun(path);
  if (!opened.ok) return opened;
  const { reader } = opened;
  const { header } = reader;
  const parsed = parseLayout(header.layoutText, `${header.site}.yaml`);
  if (!parsed.ok)
    return refused(
      reader,
      `The layout in ${path} cannot be read by this version (${parsed.faults.length} faults): replay ` +
        `it with ${header.software}, which wrote it.`,
    );
  if (reader.pictureTimes().length === 0)
    return refused(reader, `${path} holds no picture: the run ended before the first second of it.`);
  const { layout } = parsed;
  let server: Server | null = null;
  const player = new Player({
    layout,
    record: reader,
    software: build,
    makeWatch: createWatch,
    show: (picture, feed, replay) => server?.live.publish({ type: 'picture', picture, feed, replay }),
  });
  const built = await buildServer({
    ...shared,
    layout,
    build,
    run: () => ({ name: header.run, startedMs: header.startedMs }),
    latest: () => player.latest,
    series: (channel, fromMs, toMs) => reader.channels.series(layout, channel, fromMs, toMs),
    enter: () => REFUSED,
    review: { player, desk: new ReviewDesk(() => ({ path, layout }), true) },
  });
  server = built;
  const ticker = setInterval(() => player.tick(Date.now()), TICK_MS);
  return {
    ok: true,
    player,
    server: built,
    stop: async () => {
      clearInterval(ticker);
      await built.app.close();
      player.close();
    },
  };
}

function refused(reader: RunReader, why: string): Replay {
  reader.close();
  return { ok: false, why };
}
