/**
 * A photo on the screen Structures: taken with the phone, kept with what was found, shown at its place and nowhere
 * else; what is no photo is not sent.
 */
import { mkdirSync } from 'node:fs';
import type { Locator, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { TruthEntry } from '../../config/wire/truth.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { barriers, tooSmall } from './barriers.ts';
import { ReplayedScreen } from './replayed-screen.ts';

const SHOTS = 'tests/artifacts/photos';

describe.skipIf(missing(BROWSERS))('photos on Structures', () => {
  const screen = new ReplayedScreen();

  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true });
    await screen.start({ seconds: 60, keepShown: false });
    screen.go(60);
  });

  afterAll(() => screen.stop());

  afterEach(async () => {
    expect(await screen.close()).toEqual([]);
  });

  async function open(width = 360, theme = 'sun'): Promise<Page> {
    const page = await screen.open('structures', { width, theme, touch: width === 360, initials: 'QR' });
    await page.locator('article').first().waitFor();
    return page;
  }

  const place = (): { readonly id: string; readonly label: string } => screen.recorded.layout.structures[0]!;
  const cardOf = (page: Page): Locator =>
    page.getByRole('article').filter({ has: page.getByRole('heading', { level: 3, name: place().label }) });
  const kept = async (): Promise<readonly TruthEntry[]> =>
    (await screen.replay.server.app.inject('/api/review/truth')).json<TruthEntry[]>();

  it('says what is no photo, and sends nothing of it', async () => {
    const card = cardOf(await open());
    await card.locator('summary').click();
    expect(await card.getByRole('button', { name: 'Keep this photo' }).isDisabled()).toBe(true);
    await card
      .getByLabel('Take or choose')
      .setInputFiles({ name: 'page.png', mimeType: 'image/png', buffer: Buffer.from('<script>alert(1)</script>') });
    await card.getByRole('button', { name: 'Keep this photo' }).click();
    await card.getByText('Nothing was sent: this browser cannot read page.png as a photo').waitFor();
    expect(await kept()).toEqual([]);
  });

  it('keeps one from a phone, drawn anew, and shows it at its place and at no other', async () => {
    const page = await open();
    const card = cardOf(page);
    await card.locator('summary').click();
    await card
      .getByLabel('Take or choose')
      .setInputFiles({ name: 'gable.png', mimeType: 'image/png', buffer: await page.screenshot() });
    await card.getByLabel('What it shows').fill('bracket is loose');
    await card.getByRole('button', { name: 'Keep this photo' }).click();
    await card.getByText('Kept with what was found.').waitFor();
    expect(await kept()).toMatchObject([
      {
        what: 'note',
        by: 'QR',
        at: place().id,
        words: 'bracket is loose',
        photos: [{ name: 'gable.png', type: 'image/jpeg' }],
      },
    ]);
    const image = card.getByRole('img', { name: 'gable.png' });
    await image.scrollIntoViewIfNeeded();
    expect(await image.evaluate((one: HTMLImageElement) => one.decode().then(() => one.naturalWidth))).toBeGreaterThan(
      300,
    );
    expect(await page.getByRole('img', { name: 'gable.png' }).count()).toBe(1);
    await page.screenshot({ path: `${SHOTS}/card-360.png` });
  });

  it('shows another screen what was kept, also of a head of the place, and serves it as a picture and nothing else', async () => {
    const head = screen.recorded.layout.heads.find(({ structure }) => structure === place().id)!;
    const told = await screen.replay.server.app.inject({
      method: 'POST',
      url: '/api/review/truth',
      payload: {
        by: 'KM',
        what: 'plug',
        at: head.id,
        fromMs: screen.replay.player.state.toMs,
        toMs: null,
        words: '',
        replaces: null,
      },
    });
    // Begins as a JPEG does and goes on as a page: it is served as what it begins as, and no browser may guess
    // otherwise.
    const payload = Buffer.concat([Buffer.from('ffd8ff', 'hex'), Buffer.from('<script>alert(1)</script>')]);
    const sent = await screen.replay.server.app.inject({
      method: 'POST',
      url: `/api/review/truth/${told.json<{ number: number }>().number}/photo?name=x.html`,
      payload,
      headers: { 'content-type': 'image/jpeg' },
    });
    const served = await screen.replay.server.app.inject(`/api/review/photo/${sent.json<{ number: number }>().number}`);
    expect(served.headers).toMatchObject({ 'content-type': 'image/jpeg', 'x-content-type-options': 'nosniff' });
    expect(String(served.headers['content-security-policy'])).toMatch(/default-src 'none'/);
    for (const number of ['nothing', '-1', '999'])
      expect((await screen.replay.server.app.inject(`/api/review/photo/${number}`)).statusCode).toBe(404);
    const card = cardOf(await open(1_280));
    await card.getByText('bracket is loose').waitFor();
    await card
      .getByText(new RegExp(`, ${head.label}`))
      .first()
      .waitFor();
    expect(await card.locator('summary').innerText()).toContain('2 photos');
  });

  it.each([
    ['sun', 360, 'all'],
    ['shade', 1_280, 'all'],
    ['night', 360, 'contrast'],
  ] as const)(
    'in %s light at %i px: no barrier by WCAG 2.2 AA, text at 7:1, nothing beside the screen, all to press is 48 px',
    async (theme, width, rules) => {
      const page = await open(width, theme);
      await cardOf(page).locator('summary').click();
      await cardOf(page).getByText('bracket is loose').waitFor();
      expect(await barriers(page, rules)).toEqual([]);
      expect(await tooSmall(cardOf(page))).toEqual([]);
      await cardOf(page).screenshot({ path: `${SHOTS}/${theme}-${width}.png` });
    },
  );
});
