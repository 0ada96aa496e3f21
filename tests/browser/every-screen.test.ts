/**
 * The whole path in headless Chromium, nothing stubbed: every screen on a real run has no barrier and nothing beside
 * it, and a gateway that goes away is seen to be away.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { SCREENS } from '../../ui/words/screens.ts';
import { barriers } from './barriers.ts';
import { PlayedSite } from './played-site.ts';

const site = new PlayedSite();

describe.skipIf(missing(BROWSERS))('every screen of the demo site', () => {
  beforeAll(() => site.start('running'));
  afterAll(() => site.stop());

  // Both lights, one at each width; screen.test.ts takes all lights of all screens, on pictures made for it.
  describe.each([
    [1280, 900, 'sun'],
    [360, 780, 'night'],
  ])('%i px wide', (width, height, theme) => {
    it.each(SCREENS)('$name has no barrier by WCAG 2.2 AA and nothing beside it', async ({ name: screen }) => {
      const { page } = site;
      await page.setViewportSize({ width, height });
      await page.evaluate((value) => localStorage.setItem('wetdown.theme', value), theme);
      await page.goto(`${site.gateway.address}/#${screen}`);
      await page.reload();
      await site.isLive();
      await page.getByText('SIMULATION').first().waitFor();
      expect(await barriers(page)).toEqual([]);
      await site.shoot(`${screen}-${theme}-${width}`);
    });
  });

  it('a gateway that goes away leaves the last picture marked as not live, and comes back by itself', async () => {
    await site.page.setViewportSize({ width: 1280, height: 900 });
    await site.page.evaluate(() => localStorage.setItem('wetdown.theme', 'sun'));
    await site.page.goto(`${site.gateway.address}/#site`);
    await site.isLive();
    await site.gateway.stop('SIGKILL');
    await site.page
      .getByText(/NOT LIVE/i)
      .first()
      .waitFor();
    await site.shoot('not-live-1280');
    // It is the gateway's own machine: all of it is kept, under the gateway's own headers.
    await site.page.goto(`${site.gateway.address}/#what-if`);
    await site.page.getByText('A calculation, not a reading.').waitFor();
    await site.page.reload();
    await site.page.getByText(/NOT LIVE\. Last picture/).waitFor();
    await site.page.getByText('A calculation, not a reading.').waitFor();
    await site.page.goto(`${site.gateway.address}/#site`);
    await site.startGateway('running');
    await site.page
      .getByText(/NOT LIVE/i)
      .first()
      .waitFor({ state: 'detached' });
    await site.isLive();
    expect(site.errors).toEqual([]);
  });
});
