/**
 * A port to listen on: the one that was asked for, or the first free one from the usual one upwards.
 *
 * In: the port asked for (null: any near the usual one) and how to listen. Out: what listening gave, or a sentence why
 * not. Listening itself is the test, so two gateways started together do not take the same port.
 */
const TRIED_MAX = 50;

export type Listening<Opened> =
  { readonly ok: true; readonly port: number; readonly opened: Opened } | { readonly ok: false; readonly why: string };

export async function onFreePort<Opened>(
  host: string,
  asked: number | null,
  usual: number,
  listen: (port: number) => Promise<Opened>,
): Promise<Listening<Opened>> {
  const last = asked ?? usual + TRIED_MAX;
  let code = '';
  for (let port = asked ?? usual; port <= last; port += 1) {
    try {
      return { ok: true, port, opened: await listen(port) };
    } catch (error) {
      code = error instanceof Error && 'code' in error ? String(error.code) : String(error);
      if (code !== 'EADDRINUSE' && code !== 'EACCES')
        return { ok: false, why: `Cannot listen on ${host}: ${code}. Is that an address of this machine?` };
    }
  }
  if (asked === null) return { ok: false, why: `No free port from ${usual} to ${last} on ${host}.` };
  const reason = code === 'EACCES' ? 'needs rights that this user does not have' : 'is in use by another program';
  return {
    ok: false,
    why: `Port ${asked} on ${host} ${reason}. Give another one, or leave the option out to take the next free one.`,
  };
}
