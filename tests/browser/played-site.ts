/**
 * The demo site played ten times as fast by a real gateway, its bundled simulator and broker, and one page of Chromium
 * that looks at it, with nothing stubbed. Screenshots are kept in tests/artifacts/browser.
 */
import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';
import type { Picture } from '../../config/wire/wire.ts';
import { order } from '../../simulator/devices.ts';
import type { Deed } from '../../simulator/events.ts';
import { aFreePort, startGateway, until, type GatewayProcess } from '../support/gateway-process.ts';
import { BROWSER, patient } from './chromium.ts';

const SHOTS = 'tests/artifacts/browser';
const SPEED = 10;

export class PlayedSite {
  page!: Page;
  gateway!: GatewayProcess;
  broker = '';
  /** Faults of the page. */
  readonly errors: string[] = [];
  #browser: Browser | undefined;
  #folder = '';
  #ports: readonly string[] = [];

  async start(scenario: string): Promise<void> {
    mkdirSync(SHOTS, { recursive: true });
    // Ten seconds of the site pass in one: a disk that other tests keep busy would make the readings old.
    this.#folder = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'wetdown-browser-'));
    const brokerPort = await aFreePort();
    this.broker = `mqtt://127.0.0.1:${brokerPort}`;
    this.#ports = ['--broker-port', String(brokerPort), '--port', String(await aFreePort())];
    await this.startGateway(scenario);
    this.#browser = await chromium.launch(BROWSER);
    const context = await this.#browser.newContext({ viewport: { width: 1280, height: 900 } });
    this.page = patient(await context.newPage());
    this.page.on('pageerror', (error) => this.errors.push(error.message));
    await this.page.goto(this.gateway.address);
  }

  /** Also again, after it was stopped: the same folder, the same address. */
  async startGateway(scenario: string): Promise<void> {
    const played = ['--scenario', scenario, '--speed', String(SPEED)];
    this.gateway = await startGateway(['--data', this.#folder, ...this.#ports, ...played]);
  }

  async stop(): Promise<void> {
    await this.#browser?.close();
    await this.gateway?.stop('SIGINT');
    rmSync(this.#folder, { recursive: true, force: true });
  }

  async picture(): Promise<Picture> {
    const answer: unknown = await (await fetch(`${this.gateway.address}/api/picture`)).json();
    return (answer as { picture: Picture }).picture;
  }

  /** Waits until so much data has come in; the picture's clock is the simulated one. */
  async pass(seconds: number): Promise<void> {
    const endMs = (await this.picture()).atMs + seconds * 1_000;
    await until(async () => (await this.picture()).atMs >= endMs);
  }

  async carry(deed: Deed): Promise<void> {
    const answer = await order(this.broker, 'larch-cove', deed);
    if (!answer.ok) throw new Error(JSON.stringify(answer));
  }

  async shoot(name: string): Promise<void> {
    await this.page.screenshot({ path: `${SHOTS}/${name}.png` });
  }

  async open(screen: string): Promise<void> {
    await this.page.getByRole('navigation').getByRole('link', { name: screen, exact: true }).click();
  }

  /** Until readings are shown with their age. */
  async isLive(): Promise<void> {
    await this.page
      .getByText(/data \d+ s old/)
      .first()
      .waitFor();
  }
}
