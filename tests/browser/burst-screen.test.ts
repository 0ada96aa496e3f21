/**
 * A burst on the screen Trend, out of a real record: reached and left by keyboard, readable in every light, plain about
 * what it cannot tell.
 */
import { mkdirSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { ticksIn } from '../../ui/charts/plain-scale.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { barriers } from './barriers.ts';
import { ReplayedScreen } from './replayed-screen.ts';

const SHOTS = 'tests/artifacts/bursts';

describe('round ticks', () => {
  it.each([
    [0, 4, 4, [0, 1, 2, 3, 4]],
    [-0.3, 0.9, 4, [0, 0.5]],
    [396.2, 401.9, 4, [398, 400]],
    [0, 0, 4, [0]],
  ])('from %d to %d', (from, to, count, ticks) => {
    expect(ticksIn(from, to, count)).toEqual(ticks);
  });
});

describe.skipIf(missing(BROWSERS))('a burst on the screen', () => {
  const screen = new ReplayedScreen();

  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true });
    await screen.start({
      site: 'quarry-road',
      seconds: 1_000,
      seed: 9_915,
      beat: 0.02,
      keepShown: false,
      deeds: { 430: (run) => void run.baseline(), 620: (run) => run.start('head-stalled', 'n-4') },
    });
  });

  afterAll(() => screen.stop());

  afterEach(async () => {
    expect(await screen.close()).toEqual([]);
  });

  async function open(second: number, width = 360, theme = 'sun'): Promise<Page> {
    screen.go(second);
    const page = await screen.open('trend', { width, theme });
    await page.getByRole('button', { name: /^Gauges: / }).click();
    await page.getByRole('button', { name: 'None' }).click();
    await page.getByLabel(/yard riser, motion/).check();
    await page.getByRole('button', { name: /^Gauges: / }).click();
    return page;
  }

  it.each([
    ['sun', 360, 'all'],
    ['shade', 1_280, 'all'],
    ['night', 360, 'contrast'],
  ] as const)(
    'in %s light at %i px: no barrier by WCAG 2.2 AA, text at 7:1, nothing beside the screen',
    async (theme, width, rules) => {
      const page = await open(980, width, theme);
      await page
        .getByRole('region', { name: /^Bursts of/ })
        .getByRole('listitem')
        .first()
        .getByRole('button')
        .click();
      const panel = page.getByRole('region', { name: /: burst of/ });
      await panel.getByText('1 of', { exact: false }).first().waitFor();
      expect(await barriers(page, rules)).toEqual([]);
      await page.screenshot({ path: `${SHOTS}/${theme}-${width}.png`, fullPage: true });
    },
  );

  it('is opened, stepped and closed by keyboard, and marks each learned beat and the one that is gone', async () => {
    const page = await open(980, 1_280);
    const list = page.getByRole('region', { name: /^Bursts of/ });
    await list.getByRole('listitem').nth(1).getByRole('button').focus();
    await page.keyboard.press('Enter');
    const panel = page.getByRole('region', { name: /: burst of/ });
    await panel.getByText(/1 of \d learned beats not heard in this burst/).waitFor();
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('burst-title');
    const learned = screen.replay.player.latest!.picture.rhythms[1]!.ratesHz.length;
    expect(await panel.locator('.beat').count()).toBe(learned);
    expect(await panel.locator('.beat.missing').count()).toBeGreaterThanOrEqual(1);
    expect(await panel.getByRole('row', { name: /not heard/ }).count()).toBe(1);
    const before = await panel.getByRole('heading', { level: 2 }).innerText();
    await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    await expect.poll(() => panel.getByRole('heading', { level: 2 }).innerText()).not.toBe(before);
    await panel.getByRole('button', { name: 'Close' }).focus();
    await page.keyboard.press('Enter');
    await panel.waitFor({ state: 'detached' });
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('bursts-of-n-riser-motion');
  });

  it('says before any baseline that a stall cannot be seen, and in a window without bursts that there are none', async () => {
    let page = await open(300);
    await page
      .getByRole('region', { name: /^Bursts of/ })
      .getByRole('listitem')
      .first()
      .getByRole('button')
      .click();
    await page.getByText('No baseline had been taken by then').waitFor();
    expect(await page.locator('.beat').count()).toBe(0);
    await screen.close();
    page = await open(20);
    await page.getByText('No burst came in this window').waitFor();
  });

  it('says in words what the gateway answers when a burst is not there any more', async () => {
    const page = await open(980);
    await page.route('**/api/burst?*', (route) =>
      route.fulfill({
        status: 404,
        contentType: 'application/json',
        body: JSON.stringify({
          error: { code: 'burst/none', words: 'No burst of this channel is kept from that moment.', field: null },
        }),
      }),
    );
    await page
      .getByRole('region', { name: /^Bursts of/ })
      .getByRole('listitem')
      .first()
      .getByRole('button')
      .click();
    await page.getByRole('alert').getByText('No burst of this channel is kept').waitFor();
  });
});
