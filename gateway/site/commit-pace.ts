/**
 * How often what came in is committed to disk while senders wait for their acknowledgement.
 *
 * In: packets as they come. Out: each handed to the loop, and commits. What senders wait for is written once ten times
 * the last commit's time has passed, so that the disk has work for a tenth of the time, or at once when many wait;
 * `longestMs` is the upper bound.
 */
import type { SourcePacket } from '../ingest/transport/mqtt-source.ts';
import type { RunLoop } from './run-loop.ts';

/** `goOn`: does something and lives through its faults. */
export function pacedCommits(
  loop: RunLoop,
  longestMs: number,
  goOn: (act: () => void) => void,
): (packet: SourcePacket) => void {
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
    else due ??= setTimeout(write, Math.min(10 * commitMs, longestMs));
  };
}
