/**
 * Setting alarms aside on the real screen: the second press at the same place, who, why, until when, always countable
 * from the site.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

describe.skipIf(missing(BROWSERS))('alarms set aside', () => {
  const screen = new BuiltScreen(demoSite().layout);
  beforeAll(() => screen.start());
  afterAll(() => screen.stop());

  it('an alarm is shelved by the second press at the same place, with its reason, and taken back by hand', async () => {
    const page = await screen.open('faulty', 'site', { initials: 'QR' });
    await page.getByRole('link', { name: 'Set aside: 1 on the shelf' }).waitFor();
    const card = page.getByRole('article').filter({ hasText: 'end of line D: no data' });
    await card.getByRole('button', { name: 'Why, where, radio' }).click();
    await card.getByText('Put on the shelf').click();
    expect(await card.getByRole('button', { name: 'Shelve it' }).isDisabled()).toBe(true);
    await card.getByLabel('Why it can wait').fill('battery is on its way');
    await card.getByRole('button', { name: '30 min' }).click();
    await card.getByRole('button', { name: 'Shelve it' }).click();
    expect(screen.gateway.entries.filter(({ kind }) => kind === 'shelve')).toEqual([]);
    await page.waitForTimeout(450);
    await card.getByRole('button', { name: 'Press again: off the list for 30 min' }).click();
    await expect
      .poll(() => screen.gateway.entries.at(-1))
      .toEqual({ kind: 'shelve', by: 'QR', alarm: 'silent:end-d-pressure', why: 'battery is on its way', minutes: 30 });
    screen.gateway.tell();
    await page.getByRole('link', { name: 'Set aside: 2 on the shelf' }).click();
    const row = page.getByRole('listitem').filter({ hasText: 'battery is on its way' });
    await row
      .getByText(/On the shelf by QR: battery is on its way\. Comes back at \d\d:\d\d, in (29|30) min/)
      .waitFor();
    await row.getByRole('button', { name: 'Back onto the list now' }).click();
    await expect
      .poll(() => screen.gateway.entries.at(-1))
      .toEqual({ kind: 'unshelve', by: 'QR', alarm: 'silent:end-d-pressure' });
  });

  it('a double tap, or a press long after the first, does nothing; a hazard to people has no shelf', async () => {
    const page = await screen.open('healthy', 'walk-round', { initials: 'QR' });
    const before = screen.gateway.entries.length;
    await page.getByRole('button', { name: 'Refuelling' }).dblclick();
    await page.getByRole('button', { name: 'Press again: 10 min' }).waitFor();
    await page.getByRole('button', { name: '20 min' }).click();
    await page.getByRole('button', { name: 'Refuelling' }).waitFor();
    expect(screen.gateway.entries.length).toBe(before);
    const hazard = await screen.open('hazard', 'site', { initials: 'QR', width: 1_280 });
    await hazard.getByText('Cheapest check').waitFor();
    expect(await hazard.getByText('Put on the shelf').count()).toBe(0);
  });

  it('says which mode holds back what, until when, and what each would', async () => {
    const page = await screen.open('filling', 'site');
    await page.getByRole('link', { name: "1 held back while 'Filling' lasts" }).click();
    await page.getByText(/Held back while 'Filling' lasts, set by KM/).waitFor();
    await screen.show(page, 'walk-round');
    await page.getByText('What waits meanwhile').click();
    await page.getByText('Refuelling: pump stopped; pump fading; fuel low').waitFor();
  });

  it('shows the load against its targets, and says when no books are kept', async () => {
    const page = await screen.open('faulty', 'alarms');
    await page.getByText(/In the worst hour: 7, up to \d\d:\d\d/).waitFor();
    await page.getByText('over what is acceptable').waitFor();
    await page.getByText('Chattering: end of line D: no data').waitFor();
    const without = await screen.open('no-advice', 'alarms');
    await without.getByText('No books are kept').waitFor();
  });
});
