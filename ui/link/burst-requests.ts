/** What the screen Trend asks of bursts of fast samples: which there are, and one opened. */
import type { BurstEntry, BurstView } from '../../config/wire/bursts.ts';
import { ask, type Answer } from './requests.ts';

export async function fetchBursts(
  channel: string,
  fromMs: number,
  toMs: number,
): Promise<Answer<readonly BurstEntry[]>> {
  return ask(
    `/api/bursts?${new URLSearchParams({ channel, from: String(Math.round(fromMs)), to: String(Math.round(toMs)) })}`,
    {},
  );
}

export async function fetchBurst(channel: string, atMs: number): Promise<Answer<BurstView>> {
  return ask(`/api/burst?${new URLSearchParams({ channel, at: String(Math.round(atMs)) })}`, {});
}
