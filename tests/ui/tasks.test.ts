/**
 * No long task (50 ms and more: W3C Long Tasks API) while a screen stands, on a device four times slower: faults in the site, one picture a second,
 * every gauge drawn on Trend. `npm run bench -- screen` measures all screens for longer, with the share of a core.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoSite } from '../support/demo-site.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';
import { tasksMs } from './main-thread.ts';

const PICTURES = 5;
const screen = new BuiltScreen(demoSite().layout);

describe.skipIf(missing('chromium'))('a screen that stands', () => {
  beforeAll(() => screen.start(), 60_000);
  afterAll(() => screen.stop());

  it.each(['site', 'structures', 'trend', 'lines', 'devices'])('%s: at most one of five pictures takes a long task', async (name) => {
    const page = await screen.open('faulty', name, { width: 1_280 });
    if (name === 'trend') {
      await page.getByRole('button', { name: /^Gauges: / }).click();
      await page.getByRole('button', { name: 'All', exact: true }).click();
      await page.getByRole('button', { name: /^Gauges: / }).click();
      await expect.poll(() => page.locator('figure canvas').count()).toBe(demoSite().layout.sensors.length);
    }
    const devtools = await page.context().newCDPSession(page);
    await devtools.send('Emulation.setCPUThrottlingRate', { rate: 4 });
    const pictures = async (count: number): Promise<void> => {
      for (let told = 0; told < count; told += 1) {
        screen.gateway.tell();
        await page.waitForTimeout(1_000);
      }
    };
    // What comes after the first picture, such as the screens that are fetched later, is no part of standing.
    await pictures(5);
    const tasks = await tasksMs(devtools, () => pictures(PICTURES));
    expect(tasks.length).toBeGreaterThan(PICTURES);
    expect(tasks.filter((ms) => ms >= 50).length, `${tasks.toSorted((a, b) => b - a).slice(0, 5).map(Math.round).join(', ')} ms`).toBeLessThanOrEqual(1);
  }, 60_000);
});
