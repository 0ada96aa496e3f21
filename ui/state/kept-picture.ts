/**
 * The last picture on this device, so that a page opened again without the gateway shows what was last heard.
 *
 * In: site, picture and feed as they came, with this device's time. Out: the same, or null. Kept only where the page
 * itself is kept, in the browser's own database, readable to whoever holds the device. It is as good as the session
 * that heard it: signing out, or a gateway that says nobody is signed in, deletes it; after a day it is not shown and
 * deleted. Storage that fails costs the kept picture and nothing else: no call here throws. Limit: that a session was
 * ended elsewhere is learned only from the gateway.
 */
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { ReplayState } from '../../config/wire/replay.ts';
import type { LiveMessage } from '../../config/wire/live.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { ownScreen } from '../link/screen-files.ts';

export interface KeptPicture {
  /** The screen that kept it: another one may read it otherwise. */
  readonly screen: string;
  readonly site: Extract<LiveMessage, { type: 'site' }>;
  readonly picture: Picture;
  readonly feed: FeedPicture | null;
  readonly replay: ReplayState | null;
  /** When it came in, on this device's clock. */
  readonly heardMs: number;
}

const NAME = 'wetdown';
const STORE = 'last';
const KEY = 'picture';
const SHOWN_FOR_MS = 86_400_000;

let isOff = false;

function database(): Promise<IDBDatabase> {
  return new Promise((done, fail) => {
    const opening = indexedDB.open(NAME, 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore(STORE);
    opening.onsuccess = () => done(opening.result);
    opening.onerror = () => fail(opening.error ?? new Error('not opened'));
    opening.onblocked = () => fail(new Error('blocked'));
  });
}

async function within<Result>(
  mode: IDBTransactionMode,
  act: (store: IDBObjectStore) => IDBRequest<Result>,
): Promise<Result | null> {
  try {
    const opened = await database();
    try {
      return await new Promise<Result>((done, fail) => {
        const transaction = opened.transaction(STORE, mode);
        const asked = act(transaction.objectStore(STORE));
        transaction.oncomplete = () => done(asked.result);
        transaction.onabort = () => fail(transaction.error ?? new Error('aborted'));
      });
    } finally {
      opened.close();
    }
  } catch {
    return null;
  }
}

export async function keepPicture(kept: KeptPicture): Promise<void> {
  if (!isOff) await within('readwrite', (store) => store.put(kept, KEY));
}

/**
 * Null: none, too old, of another version of the screen, or from a time that this device's clock has not reached: its
 * age would be false.
 */
export async function recallPicture(nowMs: number): Promise<KeptPicture | null> {
  const kept = await within<unknown>('readonly', (store) => store.get(KEY) as IDBRequest<unknown>);
  if (typeof kept !== 'object' || kept === null) return null;
  const known = kept as KeptPicture;
  const ageMs = nowMs - known.heardMs;
  if (ageMs >= 0 && ageMs <= SHOWN_FOR_MS) return known.screen === ownScreen() ? known : null;
  await forgetPicture();
  return null;
}

export async function forgetPicture(): Promise<void> {
  await within('readwrite', (store) => store.delete(KEY));
}

/** Somebody signs out: nothing that still comes in is kept any more. */
export async function keepNoMore(): Promise<void> {
  isOff = true;
  await forgetPicture();
}
