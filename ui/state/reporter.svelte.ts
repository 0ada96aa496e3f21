/**
 * Sends a person's entry and holds what came of it, so that a form can say so next to its button: taken, refused, or
 * taken and not on disk yet. That stays until it is on disk; what was lost with the gateway is never called noted.
 * Without the gateway nothing is sent and nothing is kept for later.
 */
import type { Entry, EntryWait } from '../../config/wire/entry.ts';
import { sendEntry } from '../link/requests.ts';
import { site } from './site-view.svelte.ts';
import { unwritten } from './unwritten.svelte.ts';

interface Outcome {
  readonly ok: boolean;
  readonly words: string;
}

export class Reporter {
  busy = $state(false);
  #sent = $state.raw<(Outcome & { readonly done: string; readonly wait: EntryWait | null }) | null>(null);
  /** What happened last, for a person; null: nothing yet. */
  readonly outcome = $derived.by((): Outcome | null => {
    const sent = this.#sent;
    if (!sent?.wait) return sent;
    const became = unwritten.of(sent.wait);
    if (became === 'waits') return { ok: false, words: sent.words };
    return became === 'written'
      ? { ok: true, words: `${sent.done} On disk now.` }
      : { ok: false, words: `Lost: the gateway stopped before this was on disk. Enter it again. (${sent.done})` };
  });

  /** Nothing can be sent at this moment; `Outcome` says why. */
  get shut(): boolean {
    return this.busy || !site.live;
  }

  async send(entry: Entry, done: string): Promise<boolean> {
    if (!site.live) return false;
    this.busy = true;
    this.#sent = null;
    const answer = await sendEntry(entry);
    if (answer.ok) {
      const { words = done, waits = null } = answer.value;
      if (waits) unwritten.follow(waits, done);
      this.#sent = { ok: true, words, done, wait: waits };
    } else this.#sent = { ok: false, words: answer.why, done, wait: null };
    this.busy = false;
    return answer.ok;
  }
}
