/** The main task of the structures, pump and trend screens in Chromium. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const { layout } = demoSite();

describe.skipIf(missing(BROWSERS))('screens of the day', () => {
  const screen = new BuiltScreen(layout);
  beforeAll(() => screen.start(), 60_000);
  afterAll(() => screen.stop());

  it('structures: in order of need, each with its sentence, its heads by age of the last look, and a note that names it', async () => {
    const page = await screen.open('faulty', 'structures', { initials: 'QR' });
    const titles = await page.getByRole('heading', { level: 2 }).allInnerTexts();
    expect(titles.filter((title) => /^(Running|Failed|Longest)/.test(title))).toEqual([
      'Running, soonest to fail first: 4',
      'Failed: 2',
      'Longest unchecked: 2',
    ]);
    const first = page.getByRole('article').first();
    expect(await first.innerText()).toMatch(/store[\s\S]*low pressure[\s\S]*tank empty in 17 min/);
    const workshop = page.getByRole('article').filter({ has: page.getByRole('heading', { name: 'workshop' }) });
    await workshop.getByText('Its 3 heads, water, notes').click();
    expect(await workshop.getByRole('button').first().innerText()).toMatch(/front eave 2[\s\S]*nobody has said so/);
    await workshop.getByLabel('What others should know').fill('ladder left at the north side');
    await workshop.getByRole('button', { name: 'Put on record' }).click();
    await expect
      .poll(() => screen.gateway.entries.at(-1))
      .toEqual({ kind: 'note', by: 'QR', words: 'workshop: ladder left at the north side' });
    await workshop.getByRole('button').first().click();
    await page.getByRole('region', { name: 'Details' }).getByText('Last seen turning').waitFor();
  });

  it('structures: a hazard to people stands above everything with what to keep away from', async () => {
    const page = await screen.open('hazard', 'structures');
    await page
      .getByRole('heading', { name: `Hazard to people: portable pump (${layout.structures.length})` })
      .waitFor();
    expect(await page.locator('main').getByText('Stay away from the pump and let it cool').count()).toBe(1);
  });

  it('lines: gates are as logged, and a look before a trouble is said to be, as on structures', async () => {
    const page = await screen.open('faulty', 'lines');
    await page.getByText('Gates are as logged; nothing measures them.').waitFor();
    expect(await page.getByRole('button', { name: /: open, as logged$/ }).count()).toBeGreaterThan(0);
    const head = page.getByRole('button', { name: /may be off/ });
    expect(await head.innerText()).toMatch(/seen turning 90 min ago, before this trouble/);
    await head.click();
    expect(await page.getByRole('region', { name: 'Details' }).innerText()).toMatch(/90 min ago, before this trouble/);
    await screen.show(page, 'structures');
    const card = page.getByRole('article').filter({ hasText: 'may be off' });
    await card.getByText(/^Its \d heads/).click();
    const row = card.getByRole('button', { name: /may be off/ });
    expect(await row.innerText()).toMatch(/seen turning at \d\d:\d\d, 90 min ago, before this trouble/);
  });

  it('pump: answers in one line, draws its duty, and claims nothing without fresh readings', async () => {
    const page = await screen.open('faulty', 'pump', { width: 1_280 });
    await page.getByText('It looks like the hose lay.').waitFor();
    await page.getByRole('img', { name: /^Runs at [\d.]+ US gpm and a rise of \d+ psi$/ }).waitFor();
    const stale = await screen.open('stale', 'pump', { width: 1_280 });
    await stale.getByText('Nothing here can be judged now.').waitFor();
    await stale.getByRole('img', { name: 'Curves only: where it runs is not known' }).waitFor();
    await stale.getByText('not known: no fresh suction reading').waitFor();
  });

  it('trend: what happened is marked on every chart, and pressing it reads the gauges at that moment', async () => {
    const page = await screen.open('faulty', 'trend', { width: 1_280 });
    await page.getByRole('button', { name: '1 h', exact: true }).click();
    const event = page.getByRole('button', { name: /Tender due at the ramp/ });
    await event.waitFor();
    const charts = await page.locator('figure').count();
    await expect.poll(() => page.locator('figure .event').count()).toBe(2 * charts);
    expect(await page.locator('figure').first().locator('.event.person').count()).toBe(1);
    await event.click();
    const at = /\d\d:\d\d/.exec(await event.innerText())![0];
    await page.getByText(`Read at ${at}`).waitFor();
    expect(await page.locator('figure').first().innerText()).toContain(`at ${at}`);
  });
});
