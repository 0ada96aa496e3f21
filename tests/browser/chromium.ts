/** How the tests start Chromium: headless, as root, quiet towards the outside; and the screen that they show in it. */
import { resolve } from 'node:path';
import type { Page } from 'playwright-core';
import { findProgram } from '../support/machine.ts';

/** As it ships; built once before all tests of this folder. */
export const SCREEN_FOLDER = resolve(import.meta.dirname, '../../.build/ui');

/** The same engine twice. The one that can show no window does less beside the page, and comes first. */
export const BROWSERS = ['chromium-headless-shell', 'chromium'] as const;

export const BROWSER = {
  executablePath: findProgram(...BROWSERS) ?? '/usr/bin/chromium',
  args: [
    '--no-sandbox',
    '--disable-gpu',
    '--disable-quic',
    '--no-first-run',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-sync',
  ],
};

/** A page whose waits end only what never comes: how fast a screen is, its own tests and benches say. */
export function patient(page: Page): Page {
  page.setDefaultTimeout(60_000);
  return page;
}
