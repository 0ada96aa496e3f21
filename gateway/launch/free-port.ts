/**
 * A port to listen on: the one that was asked for, or the first free one from the usual one upwards.
 *
 * In: address, the port asked for (null: any near the usual one). Out: a port, or a sentence why not.
 * Limit: somebody else may take it between the look and the use; the start then fails with the system's own words.
 */
import { createServer } from 'node:net';

const TRIED_MAX = 50;

export async function freePort(host: string, asked: number | null, usual: number): Promise<number | string> {
  const last = asked === null ? usual + TRIED_MAX : asked;
  let why = '';
  for (let port = asked ?? usual; port <= last; port += 1) {
    const fault = await bindFault(host, port);
    if (fault === null) return port;
    why = fault;
    if (fault !== 'EADDRINUSE' && fault !== 'EACCES') return `Cannot listen on ${host}: ${fault}. Is that an address of this machine?`;
  }
  const reason = why === 'EACCES' ? 'needs rights that this user does not have' : 'is in use by another program';
  return asked === null ? `No free port from ${usual} to ${last} on ${host}.` : `Port ${asked} on ${host} ${reason}. Give another one, or leave the option out to take the next free one.`;
}

function bindFault(host: string, port: number): Promise<string | null> {
  return new Promise((done) => {
    const probe = createServer();
    probe.once('error', (error: NodeJS.ErrnoException) => done(error.code ?? error.message));
    probe.listen(port, host, () => probe.close(() => done(null)));
  });
}
