/**
 * The built screen in Chromium on fixture pictures: reach, contrast, touch sizes, what it says when nothing comes any
 * more.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { demoSite } from '../support/demo-site.ts';
import { missing } from '../support/machine.ts';
import { SCREENS } from '../../ui/words/screens.ts';
import { barriers, tooSmall } from './barriers.ts';
import { BROWSER, BROWSERS, SCREEN_FOLDER, patient } from './chromium.ts';
import { FakeGateway } from './fake-gateway.ts';
import type { Condition } from '../ui/fixture-conditions.ts';

const NAMES = SCREENS.map(({ name }) => name);
const { layout } = demoSite();

describe.skipIf(missing(BROWSERS))('the screen', () => {
  let browser: Browser;
  let gateway: FakeGateway;
  let address = '';
  let context: BrowserContext | undefined;
  const complaints: string[] = [];

  beforeAll(async () => {
    browser = await chromium.launch(BROWSER);
    gateway = new FakeGateway(layout, SCREEN_FOLDER);
    address = await gateway.listen();
  });

  afterAll(async () => {
    await browser.close();
    await gateway.close();
  });

  afterEach(async () => {
    await context?.close();
    expect(complaints.splice(0)).toEqual([]);
  });

  async function open(
    condition: Condition,
    screen = 'site',
    width = 360,
    theme = 'sun',
    ownClock = false,
  ): Promise<Page> {
    gateway.condition = condition;
    context = await browser.newContext({ viewport: { width, height: 740 } });
    const page = patient(await context.newPage());
    if (ownClock) await page.clock.install();
    page.on('pageerror', (error) => complaints.push(error.message));
    page.on(
      'console',
      (message) => message.text().includes('Content Security Policy') && complaints.push(message.text()),
    );
    await page.addInitScript((value) => localStorage.setItem('wetdown.theme', value), theme);
    await page.goto(`${address}/#${screen}`);
    await page.getByRole('heading', { level: 1, name: layout.name }).waitFor();
    await page.locator('.top').waitFor();
    return page;
  }

  it('the first screen weighs under 90 kB, all screens together under 180 kB, compressed', () => {
    const weight = (names: readonly string[]): number =>
      names.reduce((sum, name) => sum + gzipSync(readFileSync(join(SCREEN_FOLDER, 'assets', name))).length, 0);
    const first = new Set(
      [...readFileSync(join(SCREEN_FOLDER, 'index.html'), 'utf8').matchAll(/assets\/([\w.-]+\.(?:js|css))/g)].map(
        ([, name]) => name!,
      ),
    );
    expect(weight([...first])).toBeGreaterThan(50_000);
    expect(weight([...first])).toBeLessThan(90_000);
    expect(weight(readdirSync(join(SCREEN_FOLDER, 'assets')).filter((name) => /\.(js|css)$/.test(name)))).toBeLessThan(
      180_000,
    );
  });

  it.each([
    ['sun', 'all'],
    ['shade', 'contrast'],
    ['night', 'contrast'],
  ] as const)(
    'in %s light: no barrier by WCAG 2.2 AA, text at 7:1, nothing beside a phone, on any screen',
    async (theme, rules) => {
      const page = await open('faulty', 'site', 360, theme);
      const found: string[] = [];
      for (const screen of NAMES) {
        await page.goto(`${address}/#${screen}`);
        await page.locator(`nav a[href="#${screen}"][aria-current]`).waitFor({ state: 'attached' });
        for (const one of await barriers(page, rules)) found.push(`${screen} ${one}`);
      }
      expect(found).toEqual([]);
    },
  );

  it.each(NAMES)('%s: everything to press is 48 px or more', async (screen) => {
    const page = await open('faulty', screen);
    expect(await tooSmall(page.locator('body'))).toEqual([]);
  });

  it('shows a value that comes between pictures at once, and nothing of another kind of run', async () => {
    const page = await open('healthy', 'site', 1_200);
    const digits = page.locator('.top .digits').first();
    await expect.poll(() => digits.textContent()).toMatch(/^13\d$/);
    await expect
      .poll(() => {
        gateway.tell();
        gateway.news('discharge', 456_000);
        return digits.textContent();
      })
      .toBe('66');
    gateway.news('discharge', 123_000, false);
    await page.waitForTimeout(300);
    expect(await digits.textContent()).toBe('66');
    // The pictured pressure of the pump is some 131 psi, and 123 kPa would be 18 psi.
    await expect
      .poll(() => {
        gateway.tell();
        return digits.textContent();
      })
      .toMatch(/^13\d$/);
  });

  it('says SIMULATION on every screen and in the title, and only then', async () => {
    for (const screen of NAMES) {
      const page = await open('healthy', screen);
      expect(await page.getByRole('note', { name: 'Simulated run' }).isVisible()).toBe(true);
      expect(await page.title()).toContain('SIMULATION');
      await context?.close();
    }
    gateway.simulated = false;
    const page = await open('healthy');
    expect(await page.getByText('SIMULATION').count()).toBe(0);
    gateway.simulated = true;
  });

  it('calls a healthy site no more than it knows', async () => {
    const page = await open('healthy');
    await expect
      .poll(() =>
        page
          .getByText('Nothing flagged. This does not say that heads turn or that water lands where it should.')
          .isVisible(),
      )
      .toBe(true);
  });

  it('does not call a site quiet when nothing could be flagged', async () => {
    const page = await open('no-advice', 'lines');
    await page.getByText('Diagnosis unavailable since').waitFor();
    await page.getByRole('link', { name: 'Site' }).click();
    await page.getByText('Nothing can be flagged').waitFor();
    expect(await page.getByText('Nothing flagged.').count()).toBe(0);
  });

  it('says that a failing disk may silence devices, and no longer once it writes', async () => {
    const words = 'Not being recorded: the disk fails. Devices that wait for it may fall silent until it writes again.';
    gateway.diskFails = true;
    const page = await open('healthy', 'devices');
    await page.getByText(words).waitFor();
    expect(await page.getByText('Record on disk:').innerText()).toBe(
      'Record on disk: FAILED (database or disk is full). What comes in waits in memory and at its ' +
        'senders: make room, or put the disk right.',
    );
    gateway.diskFails = false;
    gateway.tell();
    await expect.poll(() => page.getByText(words).count()).toBe(0);
  });

  it('asks for initials once, then sends what was taken', async () => {
    const page = await open('faulty');
    await page.getByRole('button', { name: 'I have it' }).first().click();
    await page.getByLabel('Your initials').fill('QR');
    await page.getByRole('button', { name: 'Use these' }).click();
    await page.getByRole('button', { name: 'I have it' }).first().click();
    await expect.poll(() => gateway.entries.at(-1)).toEqual({ kind: 'acknowledge', by: 'QR', alarm: 'opening:line-a' });
    gateway.tell();
    await page.getByText('taken by QR').waitFor();
  });

  it('takes a baseline only of heads that were ticked, and says what is missing', async () => {
    const page = await open('healthy', 'walk-round');
    await page.getByLabel('Your initials').fill('QR');
    await page.getByRole('button', { name: 'Use these' }).click();
    const lines = page.getByRole('button', { name: 'All of this line' });
    await lines.first().click();
    await page.getByRole('button', { name: 'Note what was seen' }).click();
    await page.getByText('No baseline yet').waitFor();
    for (let index = 1; index < layout.lines.length; index += 1) await lines.nth(index).click();
    await page.getByRole('button', { name: 'Take the baseline' }).click();
    await page.getByText('Baseline taken').waitFor();
    const entry = gateway.entries.at(-1);
    expect(entry?.kind === 'baseline' && new Set(entry.headsSeenTurning)).toEqual(
      new Set(layout.heads.map((head) => head.id)),
    );
  });

  it('takes what somebody found where they looked, and shows what a baseline pinned down', async () => {
    const page = await open('faulty', 'walk-round');
    await page.getByText('What it pinned down, and what looks alike').click();
    await page.getByText(/discharge of the heads of Line A/).waitFor();
    await page.getByLabel('Your initials').fill('QR');
    await page.getByRole('button', { name: 'Use these' }).click();
    await page.goto(`${address}/#site`);
    await page.locator('nav a[href="#site"][aria-current]').waitFor();
    await page.getByRole('button', { name: 'Why, where, radio' }).first().click();
    await page.getByLabel('What they found').first().selectOption('Nothing wrong there');
    await page.getByRole('button', { name: 'Log this look' }).first().click();
    await page.getByText('It counts as evidence, not as proof').waitFor();
    expect(gateway.entries.at(-1)).toMatchObject({ kind: 'looked', by: 'QR', found: 'nothing-wrong' });
  });

  it('opens details by keyboard and by touch', async () => {
    const page = await open('faulty', 'site', 1_280);
    await page.getByRole('listbox', { name: 'Things on the plan' }).focus();
    for (const key of ['ArrowDown', 'ArrowDown', 'Enter']) await page.keyboard.press(key);
    await page
      .getByRole('region', { name: 'Details' })
      .getByRole('heading', { name: layout.pumps[0]!.label })
      .waitFor();
    await page.locator('#plan-a-3').click();
    await page.getByRole('region', { name: 'Details' }).getByText('Last seen turning').waitFor();
  });

  it('never draws old as live: marks the age, unknowns every state, comes back by itself, reloads on a new build', async () => {
    const page = await open('healthy', 'site', 1_280, 'sun', true);
    const port = Number(new URL(address).port);
    await gateway.close();
    for (let second = 0; second < 20; second += 1) await page.clock.runFor(1_000);
    await page.getByText(/NOT LIVE, data 2\d s old/).waitFor();
    expect(await page.title()).toContain('NOT LIVE');
    expect(await page.getByText('running as modelled').filter({ visible: true }).count()).toBe(0);
    expect(await page.locator('.structure:not(.is-query)').count()).toBe(0);

    gateway = new FakeGateway(layout, SCREEN_FOLDER);
    await gateway.listen(port);
    for (let second = 0; second < 20; second += 1) await page.clock.runFor(1_000);
    await page.getByText('link up').waitFor();
    await page.getByText('running as modelled').first().waitFor();

    await page.evaluate(() => document.body.setAttribute('data-before', 'yes'));
    await gateway.close();
    gateway = new FakeGateway(layout, SCREEN_FOLDER);
    gateway.build = 'two';
    await gateway.listen(port);
    await expect
      .poll(async () => {
        await page.clock.runFor(1_000).catch(() => undefined);
        return page
          .locator('body[data-before]')
          .count()
          .catch(() => 1);
      })
      .toBe(0);
    // A context that is closed while its page still loads, on a stopped clock, can hang.
    await page.waitForLoadState('load');
    await page.clock.resume();
  });
});
