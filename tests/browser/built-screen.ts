/**
 * The built screen in Chromium before a stand-in gateway: phone with touch, or desk.
 */
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import type { Layout } from '../../config/layout/layout.ts';
import { BROWSER, patient, SCREEN_FOLDER } from './chromium.ts';
import { FakeGateway } from './fake-gateway.ts';
import type { Condition } from '../ui/fixture-conditions.ts';

export interface Wish {
  readonly theme?: string;
  readonly width?: number;
  /** As a phone: coarse pointer. */
  readonly touch?: boolean;
  readonly initials?: string;
  /** The page's clock stands still until the test moves it. */
  readonly clock?: boolean;
  /** Over plain http from another machine, where browsers keep no page. */
  readonly lan?: boolean;
  readonly height?: number;
}

const LAN = 'gateway.lan';

export class BuiltScreen {
  readonly gateway: FakeGateway;
  #browser: Browser | undefined;
  #context: BrowserContext | undefined;
  #address = '';

  constructor(layout: Layout) {
    this.gateway = new FakeGateway(layout, SCREEN_FOLDER);
  }

  async start(): Promise<void> {
    this.#browser = await chromium.launch({
      ...BROWSER,
      args: [...BROWSER.args, `--host-resolver-rules=MAP ${LAN} 127.0.0.1`],
    });
    this.#address = await this.gateway.listen();
  }

  async open(
    condition: Condition,
    screen: string,
    { theme = 'sun', width = 360, height = 740, touch = false, initials = '', clock = false, lan = false }: Wish = {},
  ): Promise<Page> {
    this.gateway.condition = condition;
    await this.#context?.close();
    this.#context = await this.#browser!.newContext({
      viewport: { width, height },
      hasTouch: touch,
      isMobile: touch,
    });
    const page = patient(await this.#context.newPage());
    if (clock) await page.clock.install();
    await page.addInitScript((kept) => kept.forEach(([key, value]) => localStorage.setItem(`wetdown.${key}`, value)), [
      ['theme', theme],
      ['initials', initials],
    ] as const);
    await page.goto(`${lan ? this.#address.replace('127.0.0.1', LAN) : this.#address}/#${screen}`);
    await this.#settled(page, screen);
    return page;
  }

  /** The same page on another screen. */
  async show(page: Page, screen: string): Promise<void> {
    await page.goto(`${new URL(page.url()).origin}/#${screen}`);
    await this.#settled(page, screen);
  }

  async #settled(page: Page, screen: string): Promise<void> {
    await page.locator('.top').waitFor();
    await page.locator(`nav a[href="#${screen}"][aria-current]`).waitFor({ state: 'attached' });
    await page.getByText('Fetching this screen.').waitFor({ state: 'detached' });
  }

  async stop(): Promise<void> {
    await this.#browser?.close();
    await this.gateway.close();
  }
}
