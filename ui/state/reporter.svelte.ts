/**
 * Sends a person's entry and holds what came of it, so that a form can say so next to its button.
 */
import type { Entry } from '../../config/wire.ts';
import { sendEntry } from '../link/requests.ts';

export class Reporter {
  busy = $state(false);
  /** What happened last, for a person; null: nothing yet. */
  outcome = $state.raw<{ readonly ok: boolean; readonly words: string } | null>(null);

  async send(entry: Entry, done: string): Promise<boolean> {
    this.busy = true;
    this.outcome = null;
    const answer = await sendEntry(entry);
    this.outcome = answer.ok ? { ok: true, words: done } : { ok: false, words: answer.why };
    this.busy = false;
    return answer.ok;
  }
}
