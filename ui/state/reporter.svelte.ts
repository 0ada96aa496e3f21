/**
 * Sends a person's entry and holds what came of it, so that a form can say so next to its button. Without the gateway
 * nothing is sent and nothing is kept for later.
 */
import type { Entry } from '../../config/wire.ts';
import { sendEntry } from '../link/requests.ts';
import { site } from './site-view.svelte.ts';

export class Reporter {
  busy = $state(false);
  /** What happened last, for a person; null: nothing yet. */
  outcome = $state.raw<{ readonly ok: boolean; readonly words: string } | null>(null);

  /** Nothing can be sent at this moment; `Outcome` says why. */
  get shut(): boolean {
    return this.busy || !site.live;
  }

  async send(entry: Entry, done: string): Promise<boolean> {
    if (!site.live) return false;
    this.busy = true;
    this.outcome = null;
    const answer = await sendEntry(entry);
    this.outcome = answer.ok ? { ok: true, words: done } : { ok: false, words: answer.why };
    this.busy = false;
    return answer.ok;
  }
}
