/**
 * What a screen costs the device that shows it: the longest task, and the share of a core, on each screen at a fourfold
 * slow-down, beside an empty page in the same run.
 *
 * Run: npm run bench -- screen [PATTERN] (needs chromium). The demo site with faults in it, a picture a second, every
 * gauge heard ten times a second, every gauge drawn on Trend. A long task is one of 50 ms and more (W3C Long Tasks
 * API). Opening a screen is counted apart from standing on it. All times are the thread's own, so that what else the
 * machine does is not in them; on a busy one they still grow, because caches are shared.
 */
import { chromium, type Page } from 'playwright-core';
import { SCREENS } from '../../ui/words/screens.ts';
import { demoSite } from '../support/demo-site.ts';
import { BuiltScreen } from '../browser/built-screen.ts';
import { BROWSER } from '../browser/chromium.ts';
import { busyS, tasksMs } from '../browser/main-thread.ts';

const SLOW = 4;
const STANDING_S = 10;
const VALUES_HZ = 10;
const pattern = new RegExp(process.argv.slice(2).find((word) => word !== 'screen' && !word.startsWith('--')) ?? '');

interface Cost {
  /** Longest tasks in ms while the screen opened, and while it stood; share of one core while it stood. */
  readonly openingMs: number;
  readonly standingMs: number;
  readonly share: number;
}

async function cost(page: Page, open: () => Promise<void>): Promise<Cost> {
  const devtools = await page.context().newCDPSession(page);
  await devtools.send('Performance.enable', { timeDomain: 'threadTicks' });
  await devtools.send('Emulation.setCPUThrottlingRate', { rate: SLOW });
  const longest = async (during: () => Promise<void>): Promise<number> =>
    Math.max(0, ...(await tasksMs(devtools, during)));
  const openingMs = await longest(async () => {
    await open();
    await page.waitForTimeout(2_000);
  });
  const [beforeS, beforeMs] = [await busyS(devtools), performance.now()];
  const standingMs = await longest(() => page.waitForTimeout(1_000 * STANDING_S));
  const share = ((await busyS(devtools)) - beforeS) / ((performance.now() - beforeMs) / 1_000);
  await devtools.detach();
  return { openingMs, standingMs, share };
}

function report(name: string, { openingMs, standingMs, share }: Cost): void {
  process.stdout.write(
    `${name.padEnd(12)} opening ${openingMs.toFixed(0).padStart(4)} ms, standing ` +
      `${standingMs.toFixed(0).padStart(4)} ms, ${(100 * share).toFixed(1).padStart(5)} % of a core\n`,
  );
}

const { layout } = demoSite();
const screen = new BuiltScreen(layout);
await screen.start();
const browser = await chromium.launch(BROWSER);
const empty = await browser.newPage();
report('empty page', await cost(empty, async () => void (await empty.goto('about:blank'))));
await browser.close();
process.stdout.write(
  `${layout.sensors.length} gauges, ${layout.heads.length} heads, a picture a second, ${VALUES_HZ} ` +
    `times a second what was measured, ${SLOW}x slower\n`,
);
let beat = 0;
const beating = setInterval(() => {
  beat += 1;
  screen.gateway.values();
  if (beat % VALUES_HZ === 0) screen.gateway.tell();
}, 1_000 / VALUES_HZ);
for (const { name } of SCREENS.filter((one) => pattern.test(one.name))) {
  const page = await screen.open('faulty', 'cautions', { width: 1_280 });
  if (name === 'trend') {
    await screen.show(page, 'trend');
    await page.getByRole('button', { name: /^Gauges: / }).click();
    await page.getByRole('button', { name: 'All', exact: true }).click();
    await screen.show(page, 'cautions');
  }
  // Screens that are fetched later are there by now.
  await page.waitForTimeout(5_000);
  report(name, await cost(page, () => screen.show(page, name)));
}
clearInterval(beating);
await screen.stop();
