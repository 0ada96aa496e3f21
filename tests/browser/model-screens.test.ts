/**
 * What if and Pre-flight in Chromium: the model runs in the browser, answers at once, also with the gateway gone, and
 * prints the same figures as the model itself.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { show } from '../../config/units.ts';
import { NO_CHANGE, WhatIf } from '../../gateway/core/hydraulics/what-if.ts';
import { BROWSER, patient, SCREEN_FOLDER } from './chromium.ts';
import { FakeGateway } from './fake-gateway.ts';

const root = join(import.meta.dirname, '../..');
const parsed = parseLayout(readFileSync(join(root, 'config/sites/larch-cove.yaml'), 'utf8'), 'larch-cove.yaml');
if (!parsed.ok) throw new Error('the site file has faults');
const { layout } = parsed;
const psi = (pascals: number): string => `${show(pascals, 'pressure', 'us').text} psi`;

let browser: Browser;
beforeAll(async () => void (browser = await chromium.launch(BROWSER)));
afterAll(() => browser.close());

async function opened(
  screen: string,
  run: (page: Page, stopGateway: () => Promise<void>) => Promise<void>,
): Promise<void> {
  const gateway = new FakeGateway(layout, SCREEN_FOLDER);
  let gone = false;
  const address = await gateway.listen(0);
  const page = patient(await browser.newPage({ viewport: { width: 1280, height: 900 } }));
  try {
    await page.goto(`${address}/#${screen}`);
    await page.locator(`nav a[href="#${screen}"][aria-current]`).waitFor();
    await run(page, () => {
      gone = true;
      return gateway.close();
    });
  } finally {
    await page.close();
    if (!gone) await gateway.close();
  }
}

describe('What if', () => {
  it('redraws every head when a gate is turned, and goes back', async () => {
    await opened('what-if', async (page) => {
      const model = new WhatIf(layout);
      const gate = layout.gates[2]!;
      await page.getByRole('heading', { name: 'As rigged' }).waitFor();
      await page.getByRole('button', { name: `${gate.label}: open` }).click();
      const then = model.answer({ ...NO_CHANGE, gateOpening: { [gate.id]: 0 } });
      const now = model.answer(NO_CHANGE);
      await page.getByRole('heading', { name: 'Then' }).waitFor();
      for (const index of [0, layout.heads.length - 1]) {
        const row = page.locator('tbody tr', {
          has: page.getByRole('rowheader', { name: layout.heads[index]!.label, exact: true }),
        });
        const texts = await row.allInnerTexts();
        expect(
          texts.some(
            (text) =>
              text.includes(psi(now.heads[index]!.pressurePa)) && text.includes(psi(then.heads[index]!.pressurePa)),
          ),
        ).toBe(true);
      }
      expect(await page.getByText('no water').count()).toBeGreaterThan(0);
      await page.getByRole('button', { name: 'All as rigged' }).click();
      await page.getByRole('heading', { name: 'As rigged' }).waitFor();
    });
  });

  it('on a phone hides no gate that is in sight, and keeps the answer in sight once something was changed', async () => {
    await opened('what-if', async (page) => {
      await page.setViewportSize({ width: 360, height: 720 });
      await page.getByRole('heading', { name: 'As rigged' }).waitFor();
      const first = page.getByRole('button', { name: `${layout.gates[0]!.label}: open` });
      const reached = await first.evaluate((gate) => {
        const { left, right, top, bottom } = gate.getBoundingClientRect();
        return [
          [left + 4, top + 4],
          [right - 4, bottom - 4],
          [(left + right) / 2, (top + bottom) / 2],
        ].every(([x, y]) => document.elementFromPoint(x!, y!) === gate);
      });
      expect(reached).toBe(true);
      const isInSight = (): Promise<boolean> =>
        page.locator('.brief').evaluate((brief) => brief.getBoundingClientRect().bottom < innerHeight);
      expect(await isInSight()).toBe(false);
      await first.click();
      await expect.poll(isInSight).toBe(true);
      expect(await page.locator('.brief').innerText()).toMatch(/out of range/);
    });
  });

  it('takes over throttle and tank as they are measured now', async () => {
    await opened('what-if', async (page) => {
      await page.getByRole('heading', { name: 'As rigged' }).waitFor();
      await page.getByRole('button', { name: 'As it is now' }).click();
      await page.getByRole('heading', { name: 'Then' }).waitFor();
      const tank = page.getByLabel(/deep$/);
      expect(Number(await tank.inputValue())).toBeLessThan(Number(await tank.getAttribute('max')));
    });
  });

  it('works with the gateway gone: throttle, lost head, lower tank', async () => {
    await opened('what-if', async (page, stopGateway) => {
      await page.getByRole('heading', { name: 'As rigged' }).waitFor();
      await stopGateway();
      const flow = async (): Promise<string> => (await page.locator('.pumps li').first().innerText()).split(' at ')[0]!;
      const full = await flow();
      await page.getByRole('button', { name: 'Less' }).click();
      await page.getByRole('heading', { name: /throttle 95 %/ }).waitFor();
      expect(await flow()).not.toBe(full);
      await page.getByLabel('One head').selectOption(layout.heads[0]!.id);
      const before = await flow();
      await page.getByRole('button', { name: 'Comes off' }).click();
      expect(await flow()).not.toBe(before);
      await page.getByLabel(/deep$/).fill('0.1');
      await page.getByText(/0\.3 ft deep/).waitFor();
    });
  });

  it('says when it has no answer for a lay instead of showing figures', () => {
    const broken = { ...layout, sources: layout.sources.map((source) => ({ ...source, elevationM: Number.NaN })) };
    expect(new WhatIf(broken).answer(NO_CHANGE).fault).not.toBeNull();
  });
});

describe('Pre-flight', () => {
  it('shows every part of the sheet, each head with its pressure, and prints', async () => {
    await opened('pre-flight', async (page) => {
      for (const title of [
        'Pump, fuel, water',
        'If one gate is shut',
        'Wetting, by structure and zone',
        'Every head, worst first',
      ]) {
        await page.getByRole('heading', { name: title }).waitFor();
      }
      const { heads } = new WhatIf(layout).answer(NO_CHANGE);
      const text = await page.locator('main').innerText();
      for (const head of heads) expect(text).toContain(psi(head.pressurePa));
      expect(text).toContain('Wind is not modelled');
      await page.evaluate(() => void (globalThis.print = () => document.body.setAttribute('data-printed', 'yes')));
      await page.getByRole('button', { name: 'Print this sheet' }).click();
      expect(await page.locator('body[data-printed]').count()).toBe(1);
    });
  });
});
