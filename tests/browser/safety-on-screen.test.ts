/**
 * The sentences that keep people safe, at each place that shows them, word for word: card, radio sentence and what is
 * copied of it, details, structures, handover on screen and paper. Retyped here.
 */
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Page } from 'playwright-core';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { SCREENS } from '../../ui/words/screens.ts';
import { BuiltScreen } from './built-screen.ts';

const ADVISORY = 'Advisory only. Sees no fire. Never go because of a reading.';
const SENDING =
  'Only if incident command has cleared the area. Let hot engines cool. Bleed the line before opening ' +
  'a coupling or fitting a gauge.';
const DEADHEAD = 'Stay away from the pump and let it cool. Do not touch couplings: the water inside can scald.';
const AWAY = 'Stay away from the pump: it has run with no flow, and the water inside can scald.';

const textOf = async (page: Page, where: string): Promise<string> =>
  (await page.locator(where).first().innerText()).replaceAll(/\s+/g, ' ');

describe.skipIf(missing(BROWSERS))('safety words on the screen', () => {
  const screen = new BuiltScreen(demoSite().layout);
  beforeAll(() => screen.start(), 60_000);
  afterEach(() => {
    screen.gateway.change = null;
    screen.gateway.simulated = true;
  });
  afterAll(() => screen.stop());

  it('every screen says that it only advises, in a real run too', async () => {
    screen.gateway.simulated = false;
    const page = await screen.open('healthy', 'site', { width: 1_280 });
    for (const { name } of SCREENS) {
      await screen.show(page, name);
      expect(await textOf(page, 'main .advisory'), name).toBe(ADVISORY);
    }
  });

  it('a card that sends somebody carries the fixed line under its check', async () => {
    const page = await screen.open('emergency', 'site', { width: 1_280 });
    for (const card of await page.getByRole('article').all()) {
      await card.getByRole('button', { name: 'Why, where, radio' }).click();
      expect(await card.locator('.caution').innerText()).toBe(SENDING);
    }
  });

  it('a hazard to people: its warning first on its card, on structures and in the details of its pump', async () => {
    const page = await screen.open('hazard', 'site', { width: 1_280 });
    const card = page.getByRole('article').first();
    expect(await card.locator('.warning').innerText()).toBe(DEADHEAD);
    expect(await card.locator('.caution').count()).toBe(0);
    await page.locator('#plan-pump').click();
    expect(await page.getByRole('region', { name: 'Details' }).innerText()).toContain(DEADHEAD);
    await screen.show(page, 'structures');
    expect(await textOf(page, 'main .people')).toBe(
      `portable pump: deadheaded, running with no flow. STAY AWAY. ${DEADHEAD} Ask by radio which gates are shut.`,
    );
  });

  it('beside a dead-head another card of its pump says stay away, in place of its check', async () => {
    screen.gateway.change = (alarms) => [
      ...alarms,
      {
        ...alarms[0]!,
        priority: 'high',
        verdict: {
          ...alarms[0]!.verdict,
          id: 'pump-side:pump',
          cause: 'suction-trouble',
          headline: 'portable pump: suction trouble',
          check: AWAY,
          warning: AWAY,
          caution: null,
          radio: `EXERCISE. Larch Cove, portable pump: suction trouble, since 14:07. ${AWAY}`,
        },
      },
    ];
    const page = await screen.open('hazard', 'site', { width: 1_280 });
    const card = page.getByRole('article').filter({ hasText: 'suction trouble' });
    expect(await card.locator('.warning').innerText()).toBe(AWAY);
    await card.getByRole('button', { name: 'Why, where, radio' }).click();
    expect((await card.innerText()).replaceAll(/\s+/g, ' ')).toContain(
      `EXERCISE. Larch Cove, portable pump: suction trouble, since 14:07. ${AWAY} ${ADVISORY}`,
    );
    await screen.show(page, 'handover');
    expect(await textOf(page, 'section[aria-labelledby="flagged-title"]')).toContain(AWAY);
  });

  it('a card that is over says so on the radio, and sends nobody; the handover neither', async () => {
    screen.gateway.change = (alarms) =>
      alarms.map((alarm) => ({
        ...alarm,
        state: 'returned-unacknowledged',
        clearedMs: alarm.verdict.sinceMs + 60_000,
        acknowledgedBy: null,
      }));
    const page = await screen.open('faulty', 'site', { width: 1_280 });
    const card = page.getByRole('article').filter({ hasText: 'head off' }).first();
    const more = card.getByRole('button', { name: 'Why, where, radio' });
    if ((await more.count()) > 0) await more.click();
    await card.getByText('Evidence while it stood').waitFor();
    const told = (await card.innerText()).replaceAll(/\s+/g, ' ');
    expect(told).toMatch(/EXERCISE\. Larch Cove, over since \d\d:\d\d by the readings: /);
    for (const word of ['Cheapest check', 'What would tell most', 'To carry', 'Put on the shelf', SENDING, ' now '])
      expect(told, word).not.toContain(word);
    await screen.show(page, 'handover');
    const sheet = await textOf(page, 'section[aria-labelledby="flagged-title"]');
    expect(sheet).toMatch(/over, but nobody has seen it \(over since \d\d:\d\d\)\./);
    expect(sheet).not.toMatch(/, now|Look along the line/);
  });

  it('while a hazard stands the handover begins with stay away, and names no coupling to open', async () => {
    const page = await screen.open('hazard', 'handover', { width: 1_280 });
    const sheet = await textOf(page, 'section[aria-labelledby="flagged-title"]');
    expect(sheet).toContain(`${AWAY} `);
    expect(sheet).toContain(DEADHEAD);
    expect(sheet).not.toContain(SENDING);
  });

  it('What if with every gate shut warns of a pump with no flow, and not with all as rigged', async () => {
    const page = await screen.open('healthy', 'what-if', { width: 1_280 });
    const answer = page.locator('section[aria-labelledby="answer-title"]');
    await answer.getByText('suction ample').waitFor();
    expect(await answer.locator('.warning').count()).toBe(0);
    for (const { label } of demoSite().layout.gates.filter(({ opening }) => opening > 0))
      await page.getByRole('button', { name: `${label}: open`, exact: true }).click();
    expect(await answer.locator('.warning').innerText()).toBe(`So set, the pump runs with no flow. ${DEADHEAD}`);
    expect(await answer.innerText()).not.toContain('suction ample');
  });

  it.each([
    [true, 'EXERCISE. Larch Cove, A, boat house: head off, at lake eave or front eave, since 14:07.'],
    [false, 'Larch Cove, A, boat house: head off, at lake eave or front eave, since 14:07.'],
  ])('what is copied (simulated: %s) is the sentence and that it only advises', async (simulated, begins) => {
    screen.gateway.simulated = simulated;
    const page = await screen.open('faulty', 'site', { width: 1_280 });
    const card = page.getByRole('article').first();
    await card.getByRole('button', { name: 'Copy sentence' }).click();
    const copied = (await page.evaluate(() => String(getSelection()))).trim().replaceAll(/\s+/g, ' ');
    expect(copied.startsWith(begins), copied).toBe(true);
    expect(copied.endsWith(ADVISORY), copied).toBe(true);
  });

  it('the handover carries the fixed line, and its paper that it is an exercise and only advises', async () => {
    const page = await screen.open('faulty', 'handover', { width: 1_280 });
    expect(await textOf(page, 'section[aria-labelledby="flagged-title"]')).toContain(SENDING);
    await page.emulateMedia({ media: 'print' });
    const head = await textOf(page, '.running-head');
    expect(head).toMatch(/^EXERCISE\. SIMULATED: nothing here is happening\./);
    expect(head.endsWith(ADVISORY), head).toBe(true);
  });
});
