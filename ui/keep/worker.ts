/**
 * Keeps the screen on the device, so that a reload without the gateway opens it. Runs where browsers allow it: over
 * https with a certificate that the device trusts, and on the gateway's own machine.
 *
 * In: the page's requests. Out: the screen's own files, and nothing else: what is asked of `/api` and `/live` passes by
 * untouched, so nothing kept can pass for an answer of now. The page itself always comes from the gateway when it
 * answers in time, so that no old screen is opened before a newer gateway; the files it names have hashed names and are
 * the same wherever they come from.
 */

interface LifeEvent {
  waitUntil(done: Promise<unknown>): void;
}

interface FetchEvent extends LifeEvent {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}

interface Worker {
  readonly caches: CacheStorage;
  readonly clients: { claim(): Promise<void> };
  readonly location: Location;
  skipWaiting(): Promise<void>;
  addEventListener(kind: 'install' | 'activate', hear: (event: LifeEvent) => void): void;
  addEventListener(kind: 'fetch', hear: (event: FetchEvent) => void): void;
}

const worker = self as unknown as Worker;
/** Both are put in when it is built. */
const ID = 'SCREEN_ID';
const FILES = new Set(JSON.parse('SCREEN_FILES') as string[]);
const PREFIX = 'wetdown-screen-';
const SHELF = PREFIX + ID;
/** Judgement: as long as somebody looks at an empty page before they press again. */
const PATIENCE_MS = 4_000;

worker.addEventListener('install', (event) => event.waitUntil(keepAll()));
worker.addEventListener('activate', (event) => event.waitUntil(takeOver()));
worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== 'GET' || origin !== worker.location.origin) return;
  if (request.mode === 'navigate' && pathname === '/') event.respondWith(page());
  else if (pathname !== '/' && FILES.has(pathname)) event.respondWith(file(request, pathname));
});

/** All or nothing: half a screen, or parts of two, would be worse than none. */
async function keepAll(): Promise<void> {
  const shelf = await worker.caches.open(SHELF);
  for (const path of FILES) {
    const answer = await fetch(path, { cache: path === '/' ? 'no-cache' : 'default' });
    if (!answer.ok) throw new Error(`${path}: ${answer.status}`);
    if (path === '/' && !(await answer.clone().text()).includes(ID)) throw new Error('the page is of another build');
    await shelf.put(path, answer);
  }
  await worker.skipWaiting();
}

async function takeOver(): Promise<void> {
  const kept = await worker.caches.keys();
  await Promise.all(
    kept.filter((name) => name.startsWith(PREFIX) && name !== SHELF).map((name) => worker.caches.delete(name)),
  );
  await worker.clients.claim();
}

async function page(): Promise<Response> {
  const kept = async (): Promise<Response | undefined> => (await worker.caches.open(SHELF)).match('/');
  try {
    const answer = await fetch('/', { cache: 'no-cache', signal: AbortSignal.timeout(PATIENCE_MS) });
    const { status, headers } = answer;
    const whole = new Response(await answer.blob(), { status, headers });
    return status < 500 ? whole : ((await kept()) ?? whole);
  } catch {
    return (await kept()) ?? Response.error();
  }
}

async function file(request: Request, path: string): Promise<Response> {
  return (await (await worker.caches.open(SHELF)).match(path)) ?? fetch(request);
}
