/**
 * Entries that people made on this device and that the gateway had in memory only: whether they are on disk by now, or
 * lost with a gateway that was stopped before.
 *
 * In: the gateway's answers, and the feed beside each picture. Out: what became of each. Only a feed of the same
 * session can say that an entry is on disk; one of another session means that it never will be.
 */
import { SvelteMap } from 'svelte/reactivity';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { EntryWait } from '../../config/wire/entry.ts';

type Became = 'waits' | 'written' | 'lost';

interface Followed {
  readonly wait: EntryWait;
  readonly words: string;
  readonly now: Became;
  /** Somebody has read that it was lost. */
  readonly isSeen: boolean;
}

class Unwritten {
  readonly #became = new SvelteMap<string, Followed>();

  /** `words`: what was entered, for whoever has to enter it again. */
  follow(wait: EntryWait, words: string): void {
    this.#became.set(keyOf(wait), { wait, words, now: 'waits', isSeen: false });
  }

  of(wait: EntryWait): Became {
    return this.#became.get(keyOf(wait))?.now ?? 'waits';
  }

  /** What has to be entered again, until somebody has seen it. */
  get lost(): { readonly wait: EntryWait; readonly words: string }[] {
    return [...this.#became.values()].filter(({ now, isSeen }) => now === 'lost' && !isSeen);
  }

  seen(wait: EntryWait): void {
    const one = this.#became.get(keyOf(wait));
    if (one) this.#became.set(keyOf(wait), { ...one, isSeen: true });
  }

  hear({ journal: { entries } }: FeedPicture): void {
    for (const [key, one] of this.#became) {
      if (one.now !== 'waits') continue;
      if (one.wait.session !== entries.session) this.#became.set(key, { ...one, now: 'lost' });
      else if (entries.written >= one.wait.number) this.#became.set(key, { ...one, now: 'written' });
    }
  }
}

function keyOf({ session, number }: EntryWait): string {
  return `${session} ${number}`;
}

export const unwritten = new Unwritten();
