/**
 * The two things a screen asks for over HTTP: the past of one channel, and that a person's entry be taken.
 *
 * Both answer with data or with a sentence for the person; neither throws.
 */
import type { ReplayDifference, ReplayOrder, ReplayState } from '../../config/wire/replay.ts';
import type { Entry, EntryAnswer } from '../../config/wire/entry.ts';
import type { Series } from '../../config/wire/live.ts';

export type Answer<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly why: string };

const NOT_REACHED = 'The gateway was not reached; try again when the link is back.';
/** What was sent may have arrived although no answer came back. */
const NOT_ANSWERED =
  'No answer came: it is not known whether the gateway took it. When the link is back, look whether it ' +
  'stands there before you send it again.';
const PATIENCE_MS = 10_000;

export async function fetchSeries(channel: string, fromMs: number, toMs: number): Promise<Answer<Series>> {
  const query = new URLSearchParams({ channel, from: String(Math.round(fromMs)), to: String(Math.round(toMs)) });
  return ask<Series>(`/api/series?${query}`, {});
}

export async function sendEntry(entry: Entry): Promise<Answer<EntryAnswer>> {
  return ask('/api/entries', {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(entry),
  });
}

export async function sendReplayOrder(order: ReplayOrder): Promise<Answer<ReplayState>> {
  return ask('/api/replay', {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(order),
  });
}

export async function fetchDifferences(): Promise<Answer<readonly ReplayDifference[]>> {
  return ask('/api/replay/differences', {});
}

export async function ask<T>(path: string, init: RequestInit, patienceMs = PATIENCE_MS): Promise<Answer<T>> {
  try {
    const response = await fetch(path, { ...init, signal: AbortSignal.timeout(patienceMs) });
    const text = await response.text();
    const body: unknown = text === '' ? null : JSON.parse(text);
    return response.ok
      ? { ok: true, value: body as T }
      : { ok: false, why: sentenceIn(body) ?? `The gateway answered ${response.status}.` };
  } catch {
    return { ok: false, why: init.method === undefined ? NOT_REACHED : NOT_ANSWERED };
  }
}

function sentenceIn(body: unknown): string | null {
  const error: unknown = typeof body === 'object' && body !== null ? Reflect.get(body, 'error') : null;
  const words: unknown = typeof error === 'object' && error !== null ? Reflect.get(error, 'words') : null;
  return typeof words === 'string' && words !== '' ? words : null;
}
