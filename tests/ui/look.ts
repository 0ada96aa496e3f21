/** Screenshots of the screen on fixture pictures, for eyes: `npx tsx tests/ui/look.ts BASE OUT [filter]`. */
import { mkdirSync } from 'node:fs';
import { chromium } from 'playwright-core';

const [base = 'http://127.0.0.1:4990', out = 'tests/artifacts/ui', filter = ''] = process.argv.slice(2);
mkdirSync(out, { recursive: true });
const browser = await chromium.launch({
  executablePath: '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
});
const shots = [];
for (const condition of ['healthy', 'faulty', 'hazard', 'stale', 'filling', 'dry', 'no-advice']) for (const theme of ['sun', 'shade', 'night']) for (const width of [360, 1280]) for (const screen of ['site', 'lines', 'trend', 'walk-round', 'devices', 'cautions']) shots.push({ condition, theme, width, screen, name: `${condition}-${theme}-${width}-${screen}` });
for (const { condition, theme, width, screen, name } of shots) {
  if (!new RegExp(filter).test(name)) continue;
  await fetch(`${base}/condition/${condition}`);
  const context = await browser.newContext({ viewport: { width, height: width === 360 ? 720 : 800 } });
  const page = await context.newPage();
  page.on('console', (message) => message.type() === 'error' && console.log(name, message.text()));
  page.on('pageerror', (error) => console.log(name, error.message));
  await page.addInitScript((value) => localStorage.setItem('wetdown.theme', value), theme);
  await page.goto(`${base}/#${screen}`);
  await page.waitForSelector('.top');
  await page.waitForTimeout(700);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  if (wide > 0) console.log(name, 'scrolls sideways by', wide);
  await page.screenshot({ path: `${out}/${name}.png`, fullPage: !filter.includes('fold') });
  await context.close();
}
await browser.close();
