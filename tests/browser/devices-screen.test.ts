/**
 * The Devices screen on a real gateway without its broker: packets in, a person's entry by the screen, the record on
 * disk.
 */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { Journal } from '../../gateway/journal/journal.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { buildServer, type Server } from '../../gateway/server/app.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { demoSite } from '../support/demo-site.ts';
import { missing } from '../support/machine.ts';
import { BROWSER, BROWSERS, SCREEN_FOLDER, patient } from './chromium.ts';

const { layout, text } = demoSite();

describe.skipIf(missing(BROWSERS))('the Devices screen', () => {
  const folder = mkdtempSync(join(tmpdir(), 'wetdown-devices-'));
  let browser: Browser;
  let page: Page;
  let loop: RunLoop;
  let server: Server;
  let ticker: NodeJS.Timeout;
  let closed = false;

  beforeAll(async () => {
    browser = await chromium.launch(BROWSER);
  });
  afterAll(async () => {
    await browser.close();
    rmSync(folder, { recursive: true, force: true });
  });

  beforeEach(async () => {
    closed = false;
    loop = new RunLoop({
      layout,
      layoutText: text,
      software: 'test',
      bundledSimulator: false,
      broker: 'mqtt://127.0.0.1:1883',
      makeWatch: createWatch,
      wallMs: () => Date.now(),
      openJournal: (facts, patient) => new Journal(folder, facts, patient),
      show: (picture, feed) => server?.live.publish({ type: 'picture', picture, feed }),
      restarted: () => server.live.restart(),
    });
    server = await buildServer({
      layout,
      build: 'test',
      screen: SCREEN_FOLDER,
      loopbackOnly: true,
      door: null,
      told: () => undefined,
      tls: null,
      run: () => loop.run,
      latest: () => loop.latest,
      series: (channel, fromMs, toMs) => loop.series(channel, fromMs, toMs),
      enter: (entry, role) => loop.enter(entry, role),
    });
    const address = await server.app.listen({ host: '127.0.0.1', port: 0 });
    ticker = setInterval(() => loop.tick(), 200);
    page = patient(await browser.newPage());
    await page.goto(`${address}/#devices`);
    await page.getByRole('heading', { name: 'Devices without a place' }).waitFor();
  });
  afterEach(async () => {
    await page.close();
    clearInterval(ticker);
    await server.app.close();
    if (!closed) loop.close();
  });

  function send(device: string, pack: readonly object[]): void {
    loop.packet({
      topic: `wetdown/larch-cove/${device}/senml`,
      payload: Buffer.from(JSON.stringify(pack)),
      retained: false,
    });
  }

  function rows(query: string): unknown[] {
    if (!closed) loop.close();
    closed = true;
    clearInterval(ticker);
    const database = new Database(join(folder, `${loop.run.name}.sqlite`), { readonly: true });
    try {
      return database.prepare(query).all();
    } finally {
      database.close();
    }
  }

  async function giveInitials(): Promise<void> {
    await page.getByLabel('Your initials').fill('QR');
    await page.getByRole('button', { name: 'Use these' }).click();
  }

  it('gives a device from the tray a place: one history, the old device refused by name, the entry on record', async () => {
    send('end-a', [{ n: 'pressure', u: 'kPa', v: 400 }]);
    send('spare-2', [{ n: 'p1', u: 'kPa', v: 401 }]);
    await page.getByText('spare-2 / p1').waitFor();
    await giveInitials();
    await page.getByLabel('It is mounted at').selectOption('end of line A');
    await page.getByText("what 'pressure' of 'end-a' sends is refused").waitFor();
    await page.getByRole('button', { name: 'Give it this place' }).click();
    await page.getByText('Places given in this run').waitFor();
    await page.getByRole('heading', { name: /^spare-2:/ }).waitFor();
    send('spare-2', [{ n: 'p1', u: 'kPa', v: 402 }]);
    send('end-a', [{ n: 'pressure', u: 'kPa', v: 3 }]);
    await page.getByText('pressure of end-a: spare-2 measures there now').waitFor();
    await page.getByText('402 kPa').or(page.getByText('58 psi')).first().waitFor();
    const refused = await page.request.post(`${new URL(page.url()).origin}/api/entries`, {
      data: { kind: 'assign', by: 'QR', device: 'spare-2', record: 'p1', sensor: 'end-b-pressure' },
    });
    expect([refused.status(), await refused.json()]).toEqual([
      422,
      {
        error: { code: 'entry/refused', words: "'p1' of 'spare-2' measures at 'end-a-pressure' already.", field: null },
      },
    ]);
    expect(
      rows(
        'select value from reading join channel on channel.number = reading.channel where channel.id = ' +
          "'end-a-pressure' order by packet",
      ),
    ).toEqual([{ value: 400_000 }, { value: 402_000 }]);
    expect(rows('select kind, "by", refusal is null as taken from entry order by number')).toEqual([
      { kind: 'assign', by: 'QR', taken: 1 },
      { kind: 'assign', by: 'QR', taken: 0 },
    ]);
  });

  it('shows a wrong topic with what would be right, and who may not publish there, as text and nothing more', async () => {
    const publish = (topic: string, more: object = {}): void =>
      loop.packet({ topic, payload: Buffer.from('[]'), retained: false, stray: 'inside', ...more });
    publish('wetdown/larch_cove/pump-box/SenML');
    publish('wetdown/larch_cove/pump-box/SenML');
    publish('wetdown/larch-cove/<img src=x onerror=document.title=1>/senml/x');
    publish('wetdown/larch-cove/pump-box/senml', {
      account: 'end-a',
      refused: { reason: 'ingest/not-allowed', detail: "'end-a' may not publish there" },
    });
    const refused = page.getByRole('region', { name: 'Packets refused' });
    await expect
      .poll(() => refused.textContent())
      .toMatch(/wetdown\/larch_cove\/pump-box\/SenML, 2, last .*Did you mean wetdown\/larch-cove\/pump-box\/senml\?/s);
    const words = await refused.textContent();
    expect(words).toContain('ingest/bad-topic, 3 so far');
    expect(words).toContain('wetdown/larch-cove/<img src=x onerror=document.title=1>/senml/x');
    expect(words).toMatch(
      /wetdown\/larch-cove\/pump-box\/senml, 1, last .*Did you mean wetdown\/larch-cove\/end-a\/senml\?/s,
    );
    expect(await page.locator('img[src=x]').count()).toBe(0);
    await page.getByText('1 refused: ingest/not-allowed').waitFor();
  });

  it('makes what a gauge reads in open air its zero, with the pumps stopped only', async () => {
    const pumpBox = (hertz: number): void =>
      send('pump-box', [
        { n: 'speed', u: 'Hz', v: hertz },
        { n: 'flow', u: 'l/s', v: 0 },
        { n: 'discharge', u: 'kPa', v: 0 },
        { n: 'suction', u: 'kPa', v: 0 },
      ]);
    pumpBox(70);
    await giveInitials();
    await page.getByLabel('Gauge', { exact: true }).selectOption('end of line B');
    await page.getByText('All pumps must be stopped.').waitFor();
    expect(await page.getByRole('button', { name: 'It is open to the air now' }).isDisabled()).toBe(true);
    const words = async (): Promise<string> => {
      const answer = await page.request.post(`${new URL(page.url()).origin}/api/entries`, {
        data: { kind: 'tare', by: 'QR', sensor: 'end-b-pressure' },
      });
      return ((await answer.json()) as { error: { words: string } }).error.words;
    };
    expect(await words()).toContain('Only with all pumps stopped');
    const standing = setInterval(() => {
      pumpBox(0);
      send('end-b', [{ n: 'pressure', u: 'kPa', v: 7 }]);
    }, 400);
    try {
      const button = page.getByRole('button', { name: 'It is open to the air now' });
      const heard = (): number => loop.latest?.feed.devices.find(({ device }) => device === 'end-b')?.packets ?? 0;
      await expect.poll(async () => heard() >= 5 && (await button.isEnabled())).toBe(true);
      await button.click();
      await expect
        .poll(() => page.getByRole('region', { name: 'Zero of a gauge' }).innerText())
        .toContain('taken off each reading since');
      await expect
        .poll(() => loop.latest?.picture.channels.find(({ channel }) => channel === 'end-b-pressure')?.value)
        .toBeCloseTo(0, 6);
    } finally {
      clearInterval(standing);
    }
    expect(loop.latest?.feed.tares).toMatchObject([{ sensor: 'end-b-pressure', offsetPa: 7_000, by: 'QR' }]);
    expect(rows('select kind, refusal is null as taken from entry order by number')).toEqual([
      { kind: 'tare', taken: 0 },
      { kind: 'tare', taken: 1 },
    ]);
  });
});
