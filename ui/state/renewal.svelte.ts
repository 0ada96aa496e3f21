/**
 * When this page must be loaded anew: the gateway has another screen or another build, or is another site's.
 *
 * In: what the gateway says of itself on each new link, and the list of its screen. Out: why, and seconds until it
 * happens. It is told first, waits while somebody types, and is done only while the gateway answers: a page that is
 * given up without it would be lost.
 */
import { fetchScreenList, ownScreen, reachesPage } from '../link/screen-files.ts';

const COUNT_S = 5;
/** Judgement: a note to others takes no longer. */
const TYPING_MS = 15_000;
const WAIT_MAX_S = 60;
/** A reload that changed nothing is not repeated by itself. */
const AGAIN_MS = 120_000;
const MARK = 'wetdown.renewed';

class Renewal {
  why = $state<string | null>(null);
  leftS = $state(COUNT_S);
  /** It was tried and did not help: only a person tries again. */
  failed = $state(false);
  #typedMs = -Infinity;
  #waitedS = 0;
  #asks = false;
  #timer: ReturnType<typeof setInterval> | undefined;

  /** On each new link: is this page what the gateway serves? */
  async check(): Promise<void> {
    const own = ownScreen();
    const list = own === '' ? null : await fetchScreenList();
    if (list && list.id !== own) this.begin('The gateway has another version of this screen.', list.id);
  }

  /** `target`: what it is renewed for, so that it is not done twice for the same. */
  begin(why: string, target: string): void {
    if (this.why !== null) return;
    this.why = why;
    this.failed = wasRenewedFor(target);
    if (this.failed) return;
    const typed = (): void => void (this.#typedMs = performance.now());
    document.addEventListener('input', typed, true);
    if (document.activeElement instanceof HTMLTextAreaElement) typed();
    this.#timer = setInterval(() => void this.#count(target), 1_000);
  }

  async #count(target: string): Promise<void> {
    this.#waitedS += 1;
    const isTyping = performance.now() - this.#typedMs < TYPING_MS && this.#waitedS < WAIT_MAX_S;
    this.leftS = isTyping ? COUNT_S : Math.max(0, this.leftS - 1);
    if (this.leftS > 0 || this.#asks) return;
    this.#asks = true;
    const isThere = await reachesPage();
    this.#asks = false;
    if (!isThere) return;
    clearInterval(this.#timer);
    remember(target);
    location.reload();
  }
}

function wasRenewedFor(target: string): boolean {
  try {
    const [before = '', atMs = '0'] = (sessionStorage.getItem(MARK) ?? '').split(' ');
    return before === target && Math.abs(Date.now() - Number(atMs)) < AGAIN_MS;
  } catch {
    return false;
  }
}

function remember(target: string): void {
  try {
    sessionStorage.setItem(MARK, `${target} ${Date.now()}`);
  } catch {
    // Without it a reload that changes nothing is repeated, each time after being told.
  }
}

export const renewal = new Renewal();
