/**
 * The files that the screen consists of, as the gateway has them now, and bringing them onto this device.
 *
 * Out: identity and addresses (null: the gateway was not reached, or knows none); whether a file is here. A module that
 * could not be fetched is failed for good in some browsers, so a file is fetched as a file first, and run only once it
 * is here.
 */

export interface ScreenList {
  readonly id: string;
  /** Files of each later screen, by the name of its module. */
  readonly screens: Readonly<Record<string, readonly string[]>>;
}

const PATIENCE_MS = 15_000;

/** Identity of the screen that runs here; empty where it was not built. */
export function ownScreen(): string {
  return document.querySelector<HTMLMetaElement>('meta[name="screen"]')?.content ?? '';
}

export async function fetchScreenList(): Promise<ScreenList | null> {
  try {
    const answer = await fetch('/screen.json', { cache: 'no-cache', signal: AbortSignal.timeout(PATIENCE_MS) });
    return answer.ok ? listIn(await answer.json()) : null;
  } catch {
    return null;
  }
}

function listIn(body: unknown): ScreenList | null {
  if (typeof body !== 'object' || body === null || !('id' in body) || !('screens' in body)) return null;
  const { id, screens } = body;
  if (typeof id !== 'string' || typeof screens !== 'object' || screens === null) return null;
  return { id, screens: screens as ScreenList['screens'] };
}

/** Into the browser's own store of files. Throws when it does not come. */
export async function bringFile(path: string): Promise<void> {
  const answer = await fetch(path, { signal: AbortSignal.timeout(PATIENCE_MS) });
  if (!answer.ok) throw new Error(`${path}: ${answer.status}`);
  await answer.arrayBuffer();
}

/** Whether a reload would find the page. */
export async function reachesPage(): Promise<boolean> {
  try {
    return (await fetch('/', { cache: 'no-store', signal: AbortSignal.timeout(PATIENCE_MS) })).ok;
  } catch {
    return false;
  }
}
