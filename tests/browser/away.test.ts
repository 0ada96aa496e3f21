/**
 * Forty minutes without the gateway, and a phone that slept as long: every value says how old it is, nothing is drawn
 * as the state of now, charts keep the gap, and when the link is back the screen catches up by itself. The page's clock
 * is put forward; no minute is waited.
 */
import { mkdirSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { SCREENS } from '../../ui/words/screens.ts';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { measuredLine } from './drawn-line.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const SHOTS = 'tests/artifacts/away';
const AWAY_MS = 2_400_000;
const { layout } = demoSite();
const screen = new BuiltScreen(layout);
/** What is only true of now: words of states that nobody can know after so long. */
const OF_NOW = ['running as modelled', 'not as modelled', 'low pressure', 'link up'];

async function seconds(page: Page, count: number): Promise<void> {
  for (let second = 0; second < count; second += 1) {
    await page.clock.runFor(1_000);
    screen.gateway.tell();
  }
}

/** Numbers stand beside their age or are crossed out with it; nothing of `OF_NOW` is to be seen. */
async function claims(page: Page): Promise<string[]> {
  const found: string[] = [];
  for (const words of OF_NOW)
    if ((await page.getByText(words, { exact: false }).filter({ visible: true }).count()) > 0)
      found.push(`says '${words}'`);
  const fresh = await page.evaluate(() =>
    [...document.querySelectorAll('.big .value:not(.old)')]
      .map((one) => one.textContent.trim())
      .filter((text) => /\d/.test(text)),
  );
  return [...found, ...fresh.map((text) => `shows ${text} as fresh`)];
}

describe.skipIf(missing(BROWSERS))('forty minutes away', () => {
  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true });
    await screen.start();
  });
  afterAll(() => screen.stop());
  afterEach(() => {
    screen.gateway.gone = false;
    screen.gateway.aheadMs = 0;
  });

  it('every screen draws nothing as of now, and says the age', async () => {
    const page = await screen.open('healthy', 'site', { clock: true });
    await seconds(page, 6);
    screen.gateway.gone = true;
    // The page's clock goes on by itself meanwhile: on a busy machine a minute more.
    for (let minute = 0; minute < AWAY_MS / 60_000; minute += 1) await page.clock.runFor(60_000);
    expect(await page.title()).toContain('NOT LIVE');
    for (const { name } of SCREENS) {
      await screen.show(page, name);
      await page.getByText(/NOT LIVE, data 4\d min old/).waitFor();
      expect([name, await claims(page)]).toEqual([name, []]);
      const [pressure, flow, ...left] = await page
        .locator('.top .big')
        .evaluateAll((all) => all.map((one) => one.textContent.replaceAll(/\s+/g, ' ').trim()));
      for (const age of [pressure, flow]) expect(`${name}: ${age}`).toMatch(/4\d min old/);
      for (const time of left) expect(`${name}: ${time}`).not.toMatch(/\d ?(min|h)\b(?! old)/);
      await page.screenshot({ path: `${SHOTS}/${name}-360.png`, fullPage: true });
    }
    screen.gateway.gone = false;
  });

  it('charts run on with the clock, keep the gap, and fill in from the record once the link is back, without a reload', async () => {
    const page = await screen.open('healthy', 'trend', { clock: true, width: 1_280 });
    await seconds(page, 20);
    await page.getByRole('button', { name: '1 h', exact: true }).click();
    await page.evaluate(() => document.body.setAttribute('data-before', 'yes'));
    screen.gateway.gone = true;
    for (let minute = 0; minute < AWAY_MS / 60_000; minute += 1) await page.clock.runFor(60_000);
    await page.getByText(/NOT LIVE, data 4\d min old/).waitFor();
    expect((await measuredLine(page)).endsAt).toBeLessThan(0.4);
    await page.screenshot({ path: `${SHOTS}/trend-1280.png`, fullPage: true });

    screen.gateway.aheadMs = AWAY_MS;
    screen.gateway.gone = false;
    await expect
      .poll(async () => {
        await seconds(page, 2);
        return page.getByText('link up', { exact: true }).count();
      })
      .toBe(1);
    await expect
      .poll(async () => {
        await seconds(page, 1);
        return (await measuredLine(page)).endsAt;
      })
      .toBeGreaterThan(0.8);
    expect(await page.locator('body[data-before]').count()).toBe(1);
    expect(await page.title()).not.toContain('NOT LIVE');
  });

  it('a phone that slept shows nothing of before as now when it wakes, and is live again within seconds', async () => {
    const page = await screen.open('healthy', 'site', { clock: true });
    await page.clock.runFor(3_000);
    // A phone that sleeps has no link; what comes with it again comes after the first look.
    screen.gateway.gone = true;
    await page.clock.fastForward(AWAY_MS);
    await page.getByText(/NOT LIVE, data 4\d min old/).waitFor();
    expect(await claims(page)).toEqual([]);
    screen.gateway.gone = false;
    await expect
      .poll(async () => {
        await page.clock.runFor(1_000);
        return page.title();
      })
      .not.toContain('NOT LIVE');
    await page.getByText('running as modelled').first().waitFor();
  });

  it('a page that the browser froze and thawed goes on, and says what it missed', async () => {
    const page = await screen.open('healthy', 'site');
    const devtools = await page.context().newCDPSession(page);
    await devtools.send('Page.setWebLifecycleState', { state: 'frozen' });
    screen.gateway.gone = true;
    await new Promise((done) => {
      setTimeout(done, 17_000);
    });
    await devtools.send('Page.setWebLifecycleState', { state: 'active' });
    await page.getByText(/NOT LIVE, data 1\d s old/).waitFor();
    expect(await claims(page)).toEqual([]);
    screen.gateway.gone = false;
    await page.getByRole('button', { name: 'Try now' }).click();
    await page.getByText('running as modelled').first().waitFor();
  });
});
