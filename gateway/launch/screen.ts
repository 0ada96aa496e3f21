/**
 * The screen of a start: where it was built, what version it is, the address to open.
 *
 * In: options, a server. Out: the port that it listens on, and words for the terminal.
 */
import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Server } from '../server/app.ts';
import { onFreePort } from './free-port.ts';
import type { Options } from './options.ts';
import { orRefuse } from './refusal.ts';

const PORT = 8080;
export const SCREEN_FOLDER = resolve('.build/ui');

export function readBuild(): string {
  const { version } = JSON.parse(readFileSync('package.json', 'utf8')) as { version: string };
  try {
    return `${version}-${readFileSync(join(SCREEN_FOLDER, '../ui-stamp'), 'utf8').slice(0, 12)}`;
  } catch {
    return version;
  }
}

/** The port asked for may be any: then the one that was bound. */
export async function listen({ app }: Server, { host, port: asked }: Options): Promise<number> {
  const { port } = orRefuse(await onFreePort(host, asked, PORT, (wanted) => app.listen({ host, port: wanted })));
  const bound = app.server.address();
  return typeof bound === 'object' && bound ? bound.port : port;
}

export function screenAddress({ tls, host }: Options, port: number): string {
  return `${tls ? 'https' : 'http'}://${host.includes(':') ? `[${host}]` : host}:${port}`;
}
