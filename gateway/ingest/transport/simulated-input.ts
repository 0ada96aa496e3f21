/**
 * Whose simulated packets are taken: nobody's, those of the simulator that this gateway started, or anybody's.
 *
 * In: a packet, and whether the run is marked as simulated already. Out: why it is refused, or that it is taken; the
 * beat it holds; and whether it marks the run. A pack, a status message or a beat counts as simulated if it says so; a
 * retained one may be of a simulation that is long over, so it marks nothing and is believed in a marked run only. What
 * is refused is counted, never believed. Limit: a device that leaves the mark out is taken for a real one, as any
 * device that tells lies.
 */
import type { SourcePacket } from './mqtt-source.ts';
import { refusal, type Refusal } from '../refusal.ts';
import type { Beat } from '../payloads/house-message.ts';

export type SimulatedFrom = 'nobody' | 'bundled' | 'anybody';

/** What a packet says of a simulation. */
export interface SimulationSigns {
  beatOf(packet: SourcePacket): Beat | null;
  isSimulated(packet: SourcePacket): boolean;
}

export interface SimulatedInput {
  readonly refused: Refusal | null;
  readonly beat: Beat | null;
  /** A real run ends here, and a simulated one begins. */
  readonly marks: boolean;
}

const WHY = {
  nobody: 'this gateway watches a real site',
  bundled: 'this gateway plays its own simulator',
  anybody: 'retained: it may be of a simulation that is long over',
} as const;

export function simulatedInput(
  packet: SourcePacket,
  signs: SimulationSigns,
  from: SimulatedFrom,
  isMarked: boolean,
): SimulatedInput {
  const refused = packet.refused ?? null;
  if (refused !== null) return { refused, beat: null, marks: false };
  const taken = from === 'anybody' || (from === 'bundled' && packet.bundled === true);
  const beat = signs.beatOf(packet);
  if (taken && isMarked) return { refused, beat, marks: false };
  if (beat === null && !signs.isSimulated(packet)) return { refused, beat, marks: false };
  if (taken && !packet.retained) return { refused, beat, marks: true };
  return { refused: refusal('ingest/simulated', WHY[from]), beat: null, marks: false };
}
