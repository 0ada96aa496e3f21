/**
 * For eyes, not a test: serves the built screen on fixture pictures, or takes screenshots of it.
 *
 * `npx tsx tests/browser/look.ts serve [condition] [site]` serves on 4990 until stopped; `npx tsx tests/browser/look.ts
 * shots FOLDER PATTERN [fold]` takes condition-theme-width-screen.png for every combination that matches the pattern.
 */
import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { SCREENS } from '../../ui/words/screens.ts';
import { BROWSER } from './chromium.ts';
import { FakeGateway } from './fake-gateway.ts';
import { CONDITIONS, type Condition } from '../ui/fixture-conditions.ts';

const [what = 'serve', first = 'healthy', second = 'larch-cove', third = ''] = process.argv.slice(2);
const root = join(import.meta.dirname, '../..');
const siteName = what === 'serve' ? second : 'larch-cove';
const parsed = parseLayout(readFileSync(join(root, `config/sites/${siteName}.yaml`), 'utf8'), `${siteName}.yaml`);
if (!parsed.ok) throw new Error('the site file has faults');
/** Phone upright, phone on its side, tablet, desk. */
const SIZES = [
  [360, 720],
  [740, 360],
  [1024, 768],
  [1280, 800],
] as const;
const gateway = new FakeGateway(parsed.layout, join(root, '.build/ui'));
const address = await gateway.listen(what === 'serve' ? 4990 : 0);
setInterval(() => gateway.tell(), 1_000).unref();

if (what === 'serve') {
  gateway.condition = first as Condition;
  process.stdout.write(`${address}\n`);
} else {
  mkdirSync(first, { recursive: true });
  const browser = await chromium.launch(BROWSER);
  for (const condition of CONDITIONS)
    for (const theme of ['sun', 'shade', 'night'])
      for (const [width, height] of SIZES)
        for (const { name: screen } of SCREENS) {
          const name = `${condition}-${theme}-${width}-${screen}`;
          if (!new RegExp(second).test(name)) continue;
          gateway.condition = condition;
          const context = await browser.newContext({ viewport: { width, height } });
          const page = await context.newPage();
          page.on(
            'console',
            (message) => message.type() === 'error' && process.stdout.write(`${name}: ${message.text()}\n`),
          );
          await page.addInitScript((value) => localStorage.setItem('wetdown.theme', value), theme);
          await page.goto(`${address}/#${screen}`);
          await page.waitForSelector('.top');
          await page.waitForTimeout(700);
          await page.screenshot({ path: `${first}/${name}.png`, fullPage: third !== 'fold' });
          await context.close();
        }
  await browser.close();
  await gateway.close();
}
