/**
 * Signing in on the real screen in Chromium: nothing of the site before, all of it after, and gone again on leaving.
 */
import { chromium, type Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Role } from '../../config/wire/access.ts';
import { Sessions } from '../../gateway/access/sessions.ts';
import { seal } from '../../gateway/access/passphrase.ts';
import { buildServer, type Server } from '../../gateway/server/app.ts';
import { BLANK_FEED, blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';
import { missing } from '../support/machine.ts';
import { barriers } from './barriers.ts';
import { BROWSER, BROWSERS, SCREEN_FOLDER, patient } from './chromium.ts';

const { layout } = demoSite();

describe.skipIf(missing(BROWSERS))('the sign-in panel', () => {
  const roles: (Role | null)[] = [];
  let browser: Browser;
  let server: Server;

  beforeAll(async () => {
    const quick = { logN: 10, r: 8, p: 1 };
    const door = new Sessions({
      passphrases: { look: await seal('may look here', quick), work: await seal('may work here', quick) },
      devices: new Map(),
    });
    server = await buildServer({
      layout,
      build: 'test',
      screen: SCREEN_FOLDER,
      loopbackOnly: true,
      door,
      told: () => undefined,
      tls: null,
      run: () => ({ name: 'larch-cove-1', startedMs: 500 }),
      latest: () => ({ picture: blankPicture(1_000), feed: BLANK_FEED }),
      series: () => null,
      enter: (_entry, role) => {
        roles.push(role);
        return null;
      },
    });
    await server.app.listen({ host: '127.0.0.1', port: 0 });
    browser = await chromium.launch(BROWSER);
  });
  afterAll(async () => {
    await browser.close();
    await server.app.close();
  });

  it('lets in to look, then to work, and out again', async () => {
    const page = patient(await (await browser.newContext({ viewport: { width: 360, height: 740 } })).newPage());
    const complaints: string[] = [];
    page.on('pageerror', (error) => complaints.push(error.message));
    await page.goto(server.app.listeningOrigin);
    const field = page.getByLabel('Passphrase, to look or to work');
    const button = page.getByRole('button', { name: 'Sign in', exact: true });
    await field.waitFor();
    expect(await barriers(page)).toEqual([]);
    await field.fill('guessed');
    expect(await page.content()).not.toContain(layout.name);
    await button.click();
    await page.getByText('That passphrase is not right.').waitFor();
    await field.fill('may look here');
    await button.click();
    await page.getByRole('heading', { level: 1, name: layout.name }).waitFor();
    await page.getByRole('button', { name: 'Sign in to work' }).click();
    await field.fill('may work here');
    await button.click();
    await page.getByText('Signed in to work').waitFor();
    expect(await page.evaluate(() => document.cookie)).toBe('');
    const status = await page.evaluate(async () => {
      const note = JSON.stringify({ kind: 'note', by: 'ab', words: 'x' });
      return (
        await fetch('/api/entries', { method: 'POST', headers: { 'content-type': 'application/json' }, body: note })
      ).status;
    });
    expect([status, roles]).toEqual([200, ['work']]);
    await page.getByRole('button', { name: 'Sign out' }).click();
    await button.waitFor();
    expect(await page.content()).not.toContain(layout.name);
    expect(complaints).toEqual([]);
  });
});
