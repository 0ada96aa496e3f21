/**
 * The screen on a real record behind a real replay server, in Chromium: one page at a time.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import type { Replay } from '../../gateway/launch/replay-start.ts';
import { recordRun, type Recorded, type RecordPlan } from '../support/recorded-run.ts';
import { replayed } from '../support/replayed-run.ts';
import { BROWSER, patient, SCREEN_FOLDER } from './chromium.ts';

export interface PageWish {
  readonly width?: number;
  readonly theme?: string;
  /** As a phone: coarse pointer. */
  readonly touch?: boolean;
  readonly initials?: string;
}

export class ReplayedScreen {
  recorded!: Recorded;
  replay!: Extract<Replay, { ok: true }>;
  address = '';
  readonly #folder = mkdtempSync(join(tmpdir(), 'wetdown-replayed-'));
  #browser: Browser | undefined;
  #context: BrowserContext | undefined;
  readonly #complaints: string[] = [];

  async start(plan: RecordPlan): Promise<void> {
    this.recorded = recordRun(this.#folder, plan);
    this.replay = await replayed(this.recorded.path, SCREEN_FOLDER);
    this.address = await this.replay.server.app.listen({ host: '127.0.0.1', port: 0 });
    this.#browser = await chromium.launch(BROWSER);
  }

  /** To a second of the record. */
  go(second: number): void {
    const { player } = this.replay;
    player.order({ do: 'go', atMs: player.state.fromMs + second * 1_000 });
  }

  async open(
    screen: string,
    { width = 360, theme = 'sun', touch = false, initials = '' }: PageWish = {},
  ): Promise<Page> {
    this.#context = await this.#browser!.newContext({
      viewport: { width, height: 740 },
      hasTouch: touch,
      isMobile: touch,
    });
    const page = patient(await this.#context.newPage());
    page.on('pageerror', (error) => this.#complaints.push(error.message));
    page.on(
      'console',
      (message) => message.text().includes('Content Security Policy') && this.#complaints.push(message.text()),
    );
    await page.addInitScript(
      (kept) => {
        localStorage.setItem('wetdown.theme', kept.theme);
        if (kept.initials !== '') localStorage.setItem('wetdown.initials', kept.initials);
      },
      { theme, initials },
    );
    await page.goto(`${this.address}/#${screen}`);
    await page.locator('.top').waitFor();
    return page;
  }

  /** Closes the page. Returns what it complained of. */
  async close(): Promise<string[]> {
    await this.#context?.close();
    return this.#complaints.splice(0);
  }

  async stop(): Promise<void> {
    await this.#browser?.close();
    await this.replay.stop();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
