/**
 * The two small messages of the house's own topics beside readings: a device's status, and the beat of a simulation.
 *
 * In: a payload. Out: what it says, or null.
 */
import { shownPayload } from '../refusal.ts';
import { PACKET_BYTES_MAX } from './senml.ts';

export interface Beat {
  readonly timeMs: number;
  /** Simulated seconds a second; 0: paused; null: as fast as it can, so nothing can be said between beats. */
  readonly speed: number | null;
}

/** 'online' and 'offline', plain or as JSON text, or {"online": true}. */
export function readStatus(payload: Uint8Array): boolean | null {
  const word = shownPayload(payload).trim();
  const status = word.startsWith('{') ? readJson(payload) : word.replaceAll('"', '');
  const online: unknown = typeof status === 'object' && status !== null && 'online' in status ? status.online : status;
  return online === true || online === 'online' ? true : online === false || online === 'offline' ? false : null;
}

/** A simulated device's status says so. */
export function saysSimulated(payload: Uint8Array): boolean {
  const members = readJson(payload);
  return typeof members === 'object' && members !== null && 'simulated' in members && members.simulated === true;
}

export function readBeat(payload: Uint8Array): Beat | null {
  const members = readJson(payload);
  if (typeof members !== 'object' || members === null) return null;
  const timeMs: unknown = 'timeMs' in members ? members.timeMs : null;
  const speed: unknown = 'speed' in members ? members.speed : null;
  // Times outside 1970..2100 would only freeze the run's clock.
  if (typeof timeMs !== 'number' || !(timeMs > 0 && timeMs < 4.1e12)) return null;
  if (speed !== null && (typeof speed !== 'number' || !(speed >= 0))) return null;
  return { timeMs, speed: typeof speed === 'number' && Number.isFinite(speed) ? speed : null };
}

function readJson(payload: Uint8Array): unknown {
  if (payload.byteLength > PACKET_BYTES_MAX) return null;
  try {
    return JSON.parse(new TextDecoder().decode(payload));
  } catch {
    return null;
  }
}
