/**
 * The gateway goes away and comes back, over the whole course: whatever was opened before, every screen is there, says
 * NOT LIVE with its age, and claims nothing of now; what is missing is named and comes by itself; nothing can be sent
 * and nothing is sent later; the link is found again on any screen.
 *
 * On the gateway's own machine browsers keep the page (`kept.test.ts`); here it is plain http to another machine.
 */
import { mkdirSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { SCREENS, type ScreenName } from '../../ui/words/screens.ts';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { measuredLine } from './drawn-line.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const SHOTS = 'tests/artifacts/offline';
const { layout } = demoSite();
const screen = new BuiltScreen(layout);
const { gateway } = screen;
const faults: string[] = [];
let beating: ReturnType<typeof setInterval>;

/** What each screen is opened for, and must hold without the gateway. */
const HOLDS: Record<ScreenName, RegExp> = {
  site: /as last heard/i,
  structures: /Last known: at \d\d:\d\d it was/,
  pump: /Suction margin/,
  trend: /pump discharge/,
  'walk-round': /Every head seen turning/,
  alarms: /Alarm load/,
  lines: /at \d\d:\d\d it was/,
  handover: /Handover of Larch Cove/,
  'what-if': /A calculation, not a reading/,
  'pre-flight': /Every head, worst first/,
  devices: /connected when last heard/,
  review: /The gateway makes this from its record, and it is not heard/,
  cautions: /nothing at all of what has happened since the last picture/,
};
/** Only true of now. */
const OF_NOW = ['running as modelled', 'flowing as modelled', 'link up', 'could not be fetched', 'Fetching this'];

async function opened(name: ScreenName, wish: Parameters<BuiltScreen['open']>[2] = {}): Promise<Page> {
  const page = await screen.open('faulty', name, { lan: true, initials: 'QR', ...wish });
  page.on('pageerror', (error) => faults.push(error.message));
  return page;
}

async function go(page: Page, name: ScreenName): Promise<void> {
  await page.evaluate((hash) => void (location.hash = hash), name);
  await page.locator(`nav a[href="#${name}"][aria-current]`).waitFor({ state: 'attached' });
}

/** Every screen's own content, the mark with age and time of the picture, and no word of now. */
async function allThere(page: Page): Promise<string[]> {
  const wrong: string[] = [];
  for (const { name } of SCREENS) {
    await go(page, name);
    const main = page.locator('main');
    await expect.poll(() => main.innerText(), { message: name, timeout: 4_000 }).toMatch(HOLDS[name]);
    const text = await main.innerText();
    if (!/NOT LIVE\. Last picture .+ ago, of \w+ \d+ \w+ \d\d:\d\d:\d\d/.test(text)) wrong.push(`${name}: no mark`);
    wrong.push(...OF_NOW.filter((words) => text.includes(words)).map((words) => `${name}: '${words}'`));
  }
  return wrong;
}

const mark = (page: Page) => page.getByRole('region', { name: 'Not live' });

describe.skipIf(missing(BROWSERS))('without the gateway', () => {
  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true });
    await screen.start();
    beating = setInterval(() => gateway.tell(), 1_000);
  });
  afterAll(async () => {
    clearInterval(beating);
    await screen.stop();
  });
  afterEach(() => {
    gateway.gone = false;
    gateway.silent = false;
    gateway.failing = null;
    expect(faults.splice(0)).toEqual([]);
  });

  it('that dies five seconds after the first picture, with one screen opened: every screen is there', async () => {
    const page = await opened('site', { clock: true });
    await page.waitForTimeout(5_000);
    gateway.gone = true;
    await page.clock.fastForward(60_000);
    await mark(page).waitFor();
    expect(await allThere(page)).toEqual([]);
    expect(await page.title()).toMatch(/^SIMULATION · NOT LIVE/);
  });

  it('the age goes on while the time of the picture stands', async () => {
    const page = await opened('site', { clock: true });
    await page.waitForTimeout(2_000);
    gateway.gone = true;
    await page.clock.fastForward(30_000);
    const first = await mark(page).innerText();
    await page.clock.fastForward(600_000);
    await page.getByText(/Last picture 11 min ago/).waitFor();
    const second = await mark(page).innerText();
    const time = /of (\w+ \d+ \w+ \d\d:\d\d:\d\d)/;
    expect(time.exec(second)![1]).toBe(time.exec(first)![1]);
    expect(first).toMatch(/Last picture 3\d s ago/);
  });

  it('that dies before all was fetched: what is missing is named, the rest shown, and it is fetched on return', async () => {
    gateway.failing = /assets\/(TrendScreen|PumpScreen)/;
    const page = await opened('site');
    await page.getByText('Not all screens are on this device yet.').waitFor();
    expect(await page.locator('main').innerText()).toContain('Not on this device: Pump, Trend.');
    gateway.gone = true;
    await mark(page).waitFor();
    expect(await mark(page).innerText()).toContain('Not on this device: Pump, Trend.');
    await go(page, 'trend');
    await page.getByText('it is not on this device yet, and the gateway does not give it').waitFor();
    await go(page, 'what-if');
    await page.getByText('A calculation, not a reading').waitFor();
    await go(page, 'trend');
    await page.evaluate(() => document.body.setAttribute('data-before', 'yes'));
    gateway.failing = null;
    gateway.gone = false;
    await page.getByText('pump discharge').first().waitFor();
    await mark(page).waitFor({ state: 'detached' });
    expect(await page.getByText('Not on this device').count()).toBe(0);
    expect(await page.locator('body[data-before]').count()).toBe(1);
  });

  it('over a link that is half open: NOT LIVE although the socket stands, and live again when it speaks', async () => {
    const page = await opened('pump');
    await page.waitForTimeout(2_000);
    gateway.silent = true;
    await mark(page).waitFor();
    gateway.silent = false;
    gateway.greet();
    await mark(page).waitFor({ state: 'detached' });
    await page.getByText('Suction margin').waitFor();
  });

  it('says beforehand that a reload loses the page: in the settings while live, at the top when not', async () => {
    const words = 'Reloading this page without the gateway loses it.';
    const page = await opened('site', { width: 1_280, clock: true });
    await page.getByRole('button', { name: 'Light' }).click();
    await page.getByRole('banner').getByText(words).waitFor();
    await expect.poll(() => page.getByRole('banner').getByText('All screens are on this device.').count()).toBe(1);
    gateway.gone = true;
    await page.clock.fastForward(60_000);
    await mark(page).getByText(words).waitFor();
  });

  it('nothing can be sent, each button says why, and nothing is sent when it is back', async () => {
    const page = await opened('walk-round', { clock: true });
    await page.waitForTimeout(2_000);
    await page.getByLabel('What others should know').fill('gate A was shut');
    await page.getByRole('button', { name: 'All of this line' }).first().click();
    const sent = (): number => gateway.asked.filter((path) => path === '/api/entries').length;
    const before = sent();
    gateway.gone = true;
    await page.clock.fastForward(60_000);
    await mark(page).getByText('Nothing can be sent or acknowledged.').waitFor();
    const senders = ['Note what was seen', 'It is shut', 'Put on record', 'Refuelling'];
    for (const name of senders) expect(await page.getByRole('button', { name }).first().isDisabled(), name).toBe(true);
    const why = page.getByText(
      'Cannot be sent now: the gateway is not heard. It is not kept for later: enter it again once ' +
        'this screen is live.',
    );
    expect(await why.count()).toBe(4);
    await page.locator('form', { hasText: 'Put on record' }).evaluate((form: HTMLFormElement) => form.requestSubmit());
    await go(page, 'site');
    expect(await page.getByRole('button', { name: 'I have it' }).first().isDisabled()).toBe(true);
    expect(await why.first().isVisible()).toBe(true);
    gateway.gone = false;
    await page.getByRole('button', { name: 'Try now' }).click();
    await mark(page).waitFor({ state: 'detached' });
    expect(await page.getByRole('button', { name: 'I have it' }).first().isEnabled()).toBe(true);
    await page.clock.fastForward(5_000);
    expect(sent()).toBe(before);
  });

  it('What if works on the last picture, and says of when it is', async () => {
    const page = await opened('site', { clock: true });
    await page.waitForTimeout(5_000);
    gateway.gone = true;
    await page.clock.fastForward(2_400_000);
    await go(page, 'what-if');
    const tank = page.getByText(/boat ramp tank: [\d.]+ ft deep/);
    const rigged = await tank.innerText();
    await page.getByRole('button', { name: 'As last heard', exact: true }).click();
    expect(await tank.innerText()).not.toBe(rigged);
    await page
      .getByText(/taken over from the picture of \w+ \d+ \w+ \d\d:\d\d:\d\d, 40 min old: NOT LIVE, they may have moved/)
      .waitFor();
    await page.getByRole('button', { name: 'thief-c: open' }).click();
    await page.getByRole('button', { name: 'thief-c: shut' }).waitFor();
    expect(await page.getByText('taken over from the picture').count()).toBe(1);
    await page.getByRole('button', { name: 'All as rigged' }).click();
    expect(await page.getByText('taken over from the picture').count()).toBe(0);
  });

  it('the handover sheet and its paper say NOT LIVE and the age, and no time left as if it still ran', async () => {
    const page = await opened('site', { clock: true });
    await page.waitForTimeout(5_000);
    gateway.gone = true;
    await page.clock.fastForward(2_400_000);
    await go(page, 'handover');
    await page.getByRole('heading', { name: 'Handover of Larch Cove' }).waitFor();
    const sheet = await page.locator('.sheet').innerText();
    expect(sheet).toMatch(
      /NOT LIVE: the last picture, of \w+ \d+ \w+ \d\d:\d\d:\d\d, was 40 min old when this was shown/,
    );
    expect(sheet).toMatch(/empty at about \d\d:\d\d \(\d\d:\d\d to \d\d:\d\d\), if nothing has changed/);
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('.running-head').innerText()).toMatch(/NOT LIVE: last picture 40 min old/);
  });

  it('a replay without its gateway stays REPLAY, is marked, and cannot be moved', async () => {
    gateway.replay = {
      run: 'fixture',
      software: '0.1.0',
      softwareToday: '0.1.0',
      fromMs: Date.now() - 600_000,
      toMs: Date.now(),
      atMs: Date.now() - 300_000,
      playing: true,
      speed: 1,
      rules: 'then',
      rerun: { name: 'none' },
    };
    const page = await opened('site', { width: 1_280, clock: true });
    await page.waitForTimeout(5_000);
    gateway.gone = true;
    await page.clock.fastForward(60_000);
    await mark(page).waitFor();
    expect(await page.title()).toMatch(/^REPLAY · SIMULATION · NOT LIVE/);
    const bar = page.getByRole('region', { name: 'Replay' });
    for (const one of await bar.locator('button:visible, input, select').all())
      expect(await one.isDisabled(), await one.innerText()).toBe(true);
    await bar.getByText('The replay cannot be moved: its gateway is not heard.').waitFor();
    expect(await allThere(page)).toEqual([]);
    gateway.replay = null;
  });

  it('charts of gauges that nobody opened hold their past', async () => {
    const page = await opened('site', { width: 1_280, clock: true });
    await page.waitForTimeout(5_000);
    gateway.gone = true;
    await page.clock.fastForward(20_000);
    await go(page, 'trend');
    await page.getByText('Drawn is what is on this device.').waitFor();
    await expect.poll(() => page.locator('figure canvas').count()).toBeGreaterThan(1);
    await expect.poll(async () => (await measuredLine(page)).covers).toBeGreaterThan(0.3);
  });

  it.each([
    [360, 740, 'sun'],
    [740, 360, 'night'],
    [1_024, 768, 'shade'],
    [1_280, 800, 'night'],
  ] as const)('nothing beside the screen at %i x %i', async (width, height, theme) => {
    const page = await opened('site', { width, height, theme, clock: true });
    await page.waitForTimeout(4_000);
    gateway.gone = true;
    await page.clock.fastForward(4_000_000);
    for (const { name } of SCREENS) {
      await go(page, name);
      await mark(page).waitFor();
      const beside = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
      );
      expect([name, beside]).toEqual([name, 0]);
      await page.screenshot({ path: `${SHOTS}/${name}-${theme}-${width}.png` });
    }
  });
});
