/** A replay server on a run file, for this machine alone: it listens nowhere until somebody makes it listen. */
import { startReplay, type Replay } from '../../gateway/launch/replay-start.ts';

/** `screen`: the folder that the screen is served from. */
export async function replayed(path: string, screen: string): Promise<Extract<Replay, { ok: true }>> {
  const started = await startReplay(path, 'test-2', {
    screen,
    loopbackOnly: true,
    door: null,
    told: () => undefined,
    tls: null,
  });
  if (!started.ok) throw new Error(started.why);
  return started;
}
