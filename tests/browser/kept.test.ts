/**
 * Where browsers allow it (here: the gateway's own machine) a reload without the gateway opens the page with the last
 * picture: marked NOT LIVE from its first moment, of the same run and kind, for whoever was signed in and nobody else;
 * never an old screen before a newer gateway without a word, and never a kept answer in place of one of now.
 */
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { SCREENS } from '../../ui/words/screens.ts';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const { layout } = demoSite();
const screen = new BuiltScreen(layout);
const { gateway } = screen;
const faults: string[] = [];
let beating: ReturnType<typeof setInterval>;

async function opened(wish: Parameters<BuiltScreen['open']>[2] = {}): Promise<Page> {
  const page = await screen.open('faulty', 'site', { width: 1_280, ...wish });
  page.on('pageerror', (error) => faults.push(error.message));
  return page;
}

const mark = (page: Page) => page.getByRole('region', { name: 'Not live' });
const identity = async (page: Page): Promise<string | null> =>
  page.locator('meta[name="screen"]').getAttribute('content');

/** All of it on the device, and a picture that this very screen kept. */
async function kept(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Light' }).click();
  await page
    .getByRole('banner')
    .getByText('This page opens again without the gateway, with the last picture.')
    .waitFor();
  await page.getByRole('button', { name: 'Light' }).click();
  await expect.poll(() => keptBy(page)).toBe(await identity(page));
}

/** Identity of the screen that kept the picture. */
async function keptBy(page: Page): Promise<string | null> {
  return page.evaluate(
    () =>
      new Promise<string | null>((done) => {
        const opening = indexedDB.open('wetdown', 1);
        opening.onupgradeneeded = () => opening.result.createObjectStore('last');
        opening.onsuccess = () => {
          const asked = opening.result.transaction('last').objectStore('last').get('picture');
          asked.onsuccess = () => {
            opening.result.close();
            done((asked.result as { screen?: string } | undefined)?.screen ?? null);
          };
        };
      }),
  );
}

/** Keys of what is kept of the site. */
async function store(page: Page): Promise<string[]> {
  return page.evaluate(
    () =>
      new Promise<string[]>((done) => {
        const opening = indexedDB.open('wetdown', 1);
        opening.onupgradeneeded = () => opening.result.createObjectStore('last');
        opening.onsuccess = () => {
          const asked = opening.result.transaction('last').objectStore('last').getAllKeys();
          asked.onsuccess = () => (opening.result.close(), done(asked.result.map(String)));
        };
      }),
  );
}

/** When the picture that is kept came in. */
async function heardMs(page: Page): Promise<number> {
  return page.evaluate(
    () =>
      new Promise<number>((done) => {
        const opening = indexedDB.open('wetdown', 1);
        opening.onsuccess = () => {
          const asked = opening.result.transaction('last').objectStore('last').get('picture');
          asked.onsuccess = () => (opening.result.close(), done((asked.result as { heardMs: number }).heardMs));
        };
      }),
  );
}

/** Puts a picture, kept once in this test, back with another moment of receipt. */
async function setHeard(page: Page, heardMs: number): Promise<void> {
  await page.evaluate(
    (atMs) =>
      new Promise<void>((done) => {
        const opening = indexedDB.open('wetdown', 1);
        opening.onsuccess = () => {
          const held = opening.result.transaction('last', 'readwrite').objectStore('last');
          const asked = held.get('picture') as IDBRequest<object | undefined>;
          asked.onsuccess = () => {
            if (asked.result) localStorage.setItem('of-the-test', JSON.stringify(asked.result));
            const first = JSON.parse(localStorage.getItem('of-the-test')!) as object;
            held.put({ ...first, heardMs: atMs }, 'picture').onsuccess = () => (opening.result.close(), done());
          };
        };
      }),
    heardMs,
  );
}

describe.skipIf(missing(BROWSERS))('a page that is kept', () => {
  beforeAll(async () => {
    await screen.start();
    beating = setInterval(() => gateway.tell(), 1_000);
  });
  afterAll(async () => {
    clearInterval(beating);
    await screen.stop();
  });
  afterEach(() => {
    gateway.gone = false;
    gateway.silent = false;
    gateway.role = 'not-asked';
    gateway.screenId = null;
    gateway.run = 'fixture';
    gateway.layout = layout;
    gateway.simulated = true;
    expect(faults.splice(0)).toEqual([]);
  });

  it('opens without the gateway, NOT LIVE at once, with every screen; and is live again by itself', async () => {
    const page = await opened();
    await kept(page);
    expect(await mark(page).count()).toBe(0);
    gateway.gone = true;
    await page.reload();
    await mark(page).waitFor();
    // The picture is seconds old: young enough to pass for live, had this page heard it.
    expect(await mark(page).innerText()).toMatch(/Last picture \d+ s ago/);
    expect(await mark(page).innerText()).not.toContain('loses it');
    expect(await page.title()).toMatch(/^SIMULATION · NOT LIVE/);
    expect(await page.getByRole('note', { name: 'Simulated run' }).isVisible()).toBe(true);
    expect(await page.getByText('running as modelled').filter({ visible: true }).count()).toBe(0);
    for (const { name } of SCREENS) {
      await page.evaluate((hash) => void (location.hash = hash), name);
      await mark(page).waitFor();
      await page.getByText('Fetching this screen.').waitFor({ state: 'detached' });
      expect([name, await page.getByText('could not be fetched').count()]).toEqual([name, 0]);
      expect((await page.locator('main').innerText()).length).toBeGreaterThan(300);
    }
    expect(await page.evaluate(() => fetch('/api/picture').then(String, () => 'no answer'))).toBe('no answer');
    gateway.gone = false;
    await mark(page).waitFor({ state: 'detached' });
  });

  it('keeps the screen’s own files and nothing that the gateway answered', async () => {
    const page = await opened();
    await kept(page);
    const addresses = await page.evaluate(async () => {
      const names = await caches.keys();
      const all = await Promise.all(
        names.map(async (name) => (await (await caches.open(name)).keys()).map(({ url }) => new URL(url).pathname)),
      );
      return all.flat();
    });
    expect(addresses).toContain('/');
    expect(addresses.filter((path) => !/^\/$|^\/assets\/[\w.-]+\.(js|css)$|^\/mark\.svg$/.test(path))).toEqual([]);
  });

  it('a real run stays real and a simulated one simulated', async () => {
    gateway.simulated = false;
    const page = await opened();
    await kept(page);
    gateway.gone = true;
    await page.reload();
    await mark(page).waitFor();
    expect(await page.getByText('SIMULATION').count()).toBe(0);
  });

  it('keeps what it shows as soon as nobody looks at it', async () => {
    const page = await opened();
    await kept(page);
    const firstMs = await heardMs(page);
    await expect.poll(() => heardMs(page)).toBeGreaterThan(firstMs);
    await page.waitForTimeout(2_500);
    gateway.silent = true;
    // Pictures have come since one was kept; the next would be kept by itself after ten seconds, and none comes.
    const beforeMs = await heardMs(page);
    await page.evaluate(() => {
      Object.defineProperty(document, 'hidden', { value: true, configurable: true });
      document.dispatchEvent(new Event('visibilitychange'));
    });
    await expect.poll(() => heardMs(page)).toBeGreaterThan(beforeMs);
    // Not only once the link notices the silence.
    expect(await page.getByText('link up').count()).toBe(1);
  });

  it('over plain http to another machine keeps no picture, as it keeps no page', async () => {
    const page = await opened({ lan: true });
    await page.waitForTimeout(2_500);
    expect(await store(page)).toEqual([]);
  });

  it('signing out deletes the picture, also where the gateway is not reached; it is told when it is back', async () => {
    gateway.role = 'work';
    const page = await opened();
    await kept(page);
    gateway.gone = true;
    await page.reload();
    await mark(page).waitFor();
    gateway.gone = false;
    await mark(page).waitFor({ state: 'detached' });
    await page.getByRole('button', { name: 'Sign out' }).waitFor();
    gateway.gone = true;
    await page.getByRole('button', { name: 'Sign out' }).click();
    await page.getByText('Waiting for the gateway.').waitFor();
    await page.waitForTimeout(2_000);
    expect(await page.locator('.top').count()).toBe(0);
    expect(await page.getByText(layout.name).count()).toBe(0);
    expect(await store(page)).toEqual([]);
    gateway.gone = false;
    await page.getByRole('heading', { name: 'Sign in' }).waitFor();
    expect(gateway.role).toBe(null);
    await expect.poll(() => store(page)).toEqual([]);
  });

  it('a gateway that says nobody is signed in takes what was kept off the screen, and lets in whoever signs in', async () => {
    gateway.role = 'work';
    const page = await opened();
    await kept(page);
    gateway.gone = true;
    await page.reload();
    await mark(page).waitFor();
    // As after a restart: sessions are in its memory.
    gateway.role = null;
    gateway.gone = false;
    await page.getByRole('heading', { name: 'Sign in' }).waitFor();
    await expect.poll(() => page.locator('.top').count()).toBe(0);
    expect(await store(page)).toEqual([]);
    await page.getByLabel('Passphrase, to look or to work').fill('ember light');
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.locator('.top').waitFor();
    expect(await mark(page).count()).toBe(0);
  });

  it('a picture is shown for a day, and not where this device’s clock was set back before it', async () => {
    const page = await opened();
    await kept(page);
    gateway.gone = true;
    // A page that loses the gateway keeps its last picture once more; one that was opened without it keeps none.
    await page.reload();
    await mark(page).waitFor();
    for (const [byMs, shown] of [
      [-3_600_000, false],
      [82_800_000, true],
      [90_000_000, false],
    ] as const) {
      await setHeard(page, Date.now() - byMs);
      await page.reload();
      if (shown) await page.getByText(/Last picture 23 h/).waitFor();
      else {
        await page.getByText('Waiting for the gateway.').waitFor();
        await page.waitForTimeout(2_000);
        expect(await page.locator('.top').count()).toBe(0);
      }
    }
  });

  it('a gateway with another screen: it is said, the page is renewed, and the new one is what opens without it', async () => {
    const page = await opened();
    await kept(page);
    const first = await identity(page);
    gateway.gone = true;
    await page.reload();
    await mark(page).waitFor();
    expect(await identity(page)).toBe(first);
    gateway.screenId = 'f00df00df00d';
    gateway.gone = false;
    await page.getByText('The gateway has another version of this screen.').waitFor();
    await page.getByText(/This page reloads in \d s/).waitFor();
    await expect.poll(() => identity(page).catch(() => '')).toBe('f00df00df00d');
    await kept(page);
    expect(await page.evaluate(() => caches.keys())).toEqual(['wetdown-screen-f00df00df00d']);
    gateway.gone = true;
    await page.reload();
    await mark(page).waitFor();
    expect(await identity(page)).toBe('f00df00df00d');
  });

  it('while the gateway answers its own screen is opened, never the kept one', async () => {
    const page = await opened();
    await kept(page);
    gateway.screenId = 'cafecafecafe';
    await page.reload({ waitUntil: 'commit' });
    expect(await identity(page)).toBe('cafecafecafe');
    await page.locator('.top').waitFor();
    expect(await page.getByText('The gateway has another version of this screen.').count()).toBe(0);
    // Open and mute: what was kept is better than an empty page.
    await kept(page);
    gateway.silent = true;
    await page.reload();
    await mark(page).waitFor();
  });

  it('does not reload for ever where that brings the old screen again, and says so', async () => {
    const page = await opened();
    await page.waitForTimeout(3_000);
    // Its list runs ahead of its page: somebody is just building.
    gateway.failing = null;
    await page.route('**/screen.json', (route) =>
      route.fulfill({ json: { id: 'abcabcabcabc', files: [], screens: {} } }),
    );
    gateway.greet();
    await page.getByText(/This page reloads in \d s/).waitFor();
    await page.getByText('Reloading brought the old one again.').waitFor();
    await page.evaluate(() => document.body.setAttribute('data-before', 'yes'));
    await page.waitForTimeout(8_000);
    expect(await page.locator('body[data-before]').count()).toBe(1);
  });

  it('waits with renewing while somebody types', async () => {
    const page = await opened();
    await page.evaluate(() => void (location.hash = 'walk-round'));
    await page.getByLabel('What others should know').fill('gate');
    gateway.screenId = 'beefbeefbeef';
    gateway.greet();
    await page.getByText('The gateway has another version of this screen.').waitFor();
    for (let turn = 0; turn < 8; turn += 1) {
      await page.getByLabel('What others should know').press('a');
      await page.waitForTimeout(1_000);
    }
    expect(await page.getByLabel('What others should know').inputValue()).toBe('gateaaaaaaaa');
  });

  it('another run on return is said, and nothing of the old one stays; another site renews the page', async () => {
    const page = await opened();
    await page.waitForTimeout(3_000);
    await page.evaluate(() => document.body.setAttribute('data-before', 'yes'));
    gateway.run = 'fixture-2';
    gateway.greet();
    await page.getByText('A new run has begun: fixture-2.').waitFor();
    expect(await page.getByText('What stood here before belonged to fixture.').count()).toBe(1);
    expect(await page.locator('body[data-before]').count()).toBe(1);
    gateway.layout = { ...layout, site: 'quarry-road', name: 'Quarry Road' };
    gateway.run = 'quarry-road-1';
    gateway.greet();
    await page.getByText('This gateway watches another site now: Quarry Road.').waitFor();
    await expect
      .poll(() =>
        page
          .locator('body[data-before]')
          .count()
          .catch(() => 1),
      )
      .toBe(0);
    await page.getByRole('heading', { level: 1, name: 'Quarry Road' }).waitFor();
  });

  it('a browser whose storage fails loses the kept picture and nothing else', async () => {
    const page = await opened();
    await page.addInitScript(() => {
      IDBFactory.prototype.open = () => {
        throw new DOMException('refused', 'SecurityError');
      };
    });
    await page.reload();
    await page.locator('.top').waitFor();
    await page.waitForTimeout(14_000);
    expect(await page.title()).not.toContain('NOT LIVE');
    gateway.gone = true;
    await page.reload();
    await page.getByText('Waiting for the gateway.').waitFor();
    gateway.gone = false;
    await page.locator('.top').waitFor();
  });
});
