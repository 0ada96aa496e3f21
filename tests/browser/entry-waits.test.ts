/** What an entry's own form says while the entry is in memory only, when it is on disk, and when it was lost. */
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const { layout } = demoSite();
const WAITS = 'Taken for now, but not on disk yet.';
const LOST = 'Lost: the gateway stopped before this was on disk. Enter it again.';

describe.skipIf(missing(BROWSERS))('an entry that is not on disk', () => {
  const screen = new BuiltScreen(layout);
  beforeAll(() => screen.start());
  afterAll(() => screen.stop());
  afterEach(() => void Object.assign(screen.gateway, { diskFails: false, unwritten: 0, session: 'first' }));

  async function shutGate(page: Page): Promise<void> {
    const form = page.getByRole('region', { name: 'A gate was moved by order' });
    await form.getByRole('button', { name: 'It is shut' }).click();
    await form.getByText(WAITS).waitFor();
    expect(await form.innerText()).not.toContain('Noted');
  }

  it('is never called noted; the form and every screen say so until it is on disk', async () => {
    screen.gateway.diskFails = true;
    const page = await screen.open('healthy', 'walk-round', { initials: 'QR', width: 1_280 });
    await shutGate(page);
    screen.gateway.tell();
    await page.getByText('1 entry is not on disk yet').waitFor();
    screen.gateway.diskFails = false;
    screen.gateway.tell();
    await page.getByText(/^Noted: .* is shut\. On disk now\.$/).waitFor();
    expect([await page.getByText('not on disk yet').count(), await page.getByText(LOST).count()]).toEqual([0, 0]);
    // A gateway that is started later takes nothing back.
    Object.assign(screen.gateway, { session: 'second', unwritten: 0 });
    screen.gateway.tell();
    await page.getByText(/On disk now/).waitFor();
    expect(await page.getByText(LOST).count()).toBe(0);
  });

  it('is called lost when the gateway was stopped before, on every screen until somebody has read it', async () => {
    screen.gateway.diskFails = true;
    const page = await screen.open('healthy', 'walk-round', { initials: 'QR', width: 1_280 });
    await shutGate(page);
    // The new one's disk writes, and an entry of somebody else has the same number.
    Object.assign(screen.gateway, { diskFails: false, session: 'second', unwritten: 1 });
    screen.gateway.tell();
    await expect.poll(() => page.getByText(LOST).count()).toBe(2);
    await screen.show(page, 'pump');
    const line = page.getByText(LOST);
    expect(await line.innerText()).toMatch(/Noted: .* is shut/);
    await page.getByRole('button', { name: 'Dismiss' }).click();
    await line.waitFor({ state: 'detached' });
  });
});
