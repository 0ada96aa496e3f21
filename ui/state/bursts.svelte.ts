/**
 * The burst that is open on the screen Trend: asked for by channel and moment, kept until another is opened or it is
 * closed.
 */
import type { BurstView } from '../../config/wire/bursts.ts';
import { fetchBurst } from '../link/burst-requests.ts';

class OpenBurst {
  channel = $state<string | null>(null);
  view = $state.raw<BurstView | null>(null);
  trouble = $state<string | null>(null);
  #asked = 0;

  async show(channel: string, atMs: number): Promise<void> {
    this.#asked += 1;
    const asked = this.#asked;
    if (this.channel !== channel) this.view = null;
    this.channel = channel;
    const answer = await fetchBurst(channel, atMs);
    // Somebody who presses twice sees what they pressed last.
    if (asked !== this.#asked) return;
    this.view = answer.ok ? answer.value : null;
    this.trouble = answer.ok ? null : answer.why;
  }

  close(): void {
    this.#asked += 1;
    this.channel = null;
    this.view = null;
    this.trouble = null;
  }
}

export const openBurst = new OpenBurst();
