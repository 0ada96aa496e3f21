/**
 * A replay and its Review screen in Chromium, on a real record behind a real server: marks, controls, finds, barriers.
 */
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { fieldTime, momentOf } from '../../ui/words/time.ts';
import { columnPath, timeTicks } from '../../ui/state/review-axis.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { barriers, tooSmall } from './barriers.ts';
import { ReplayedScreen } from './replayed-screen.ts';
import { SCREENS } from '../../ui/words/screens.ts';

describe('the time line', () => {
  it('breaks its line at a gap and puts ticks at round times', () => {
    expect(
      columnPath(
        [0, 1, 2, 3, 4],
        [1, 2, null, 3, 4],
        (at) => at,
        (value) => value,
      ),
    ).toBe('M0.0 1.0L1.0 2.0M3.0 3.0L4.0 4.0');
    expect(timeTicks(50_000, 250_000, 5)).toEqual([60_000, 120_000, 180_000, 240_000]);
    expect(timeTicks(0, 10 * 86_400_000, 5).length).toBeLessThanOrEqual(6);
  });

  it('reads times on the clock of the site', () => {
    const atMs = Date.UTC(2026, 6, 14, 20, 7, 9);
    expect(fieldTime(atMs, 'America/Denver')).toBe('2026-07-14T14:07:09');
    expect(momentOf('2026-07-14T14:07:09', 'America/Denver')).toBe(atMs);
    expect(momentOf('2026-11-01T12:00', 'America/Denver')).toBe(Date.UTC(2026, 10, 1, 19));
    expect(momentOf('', 'UTC')).toBeNull();
  });
});

describe.skipIf(missing(BROWSERS))('a replay on the screen', () => {
  const screen = new ReplayedScreen();
  const go = (second: number): void => screen.go(second);

  beforeAll(
    () =>
      screen.start({
        seconds: 300,
        silent: [220, 250],
        deeds: {
          60: (run) => void run.baseline(),
          90: (run) => run.start('head-off', 'a-3'),
          130: (run) =>
            run.loop.latest?.picture.alarms.forEach(({ verdict }) =>
              run.enter({ kind: 'acknowledge', by: 'QR', alarm: verdict.id }),
            ),
          150: (run) => run.repair('head-off', 'a-3'),
        },
      }),
    90_000,
  );

  afterAll(() => screen.stop());

  afterEach(async () => {
    expect(await screen.close()).toEqual([]);
  });

  async function open(name: string, width = 360, theme = 'sun'): Promise<Page> {
    const page = await screen.open(name, { width, theme });
    if (name === 'review') await page.getByRole('heading', { name: 'Take away' }).waitFor();
    return page;
  }

  it('is marked REPLAY and SIMULATION on every screen and in the title', async () => {
    go(120);
    const page = await open('site');
    for (const { name } of SCREENS) {
      await page.goto(`${screen.address}/#${name}`);
      await page.locator(`nav a[href="#${name}"][aria-current]`).waitFor({ state: 'attached' });
      expect(await page.getByRole('region', { name: 'Replay' }).getByText('REPLAY', { exact: true }).isVisible()).toBe(
        true,
      );
      expect(await page.getByRole('region', { name: 'Replay' }).getByText('as it was shown then').isVisible()).toBe(
        true,
      );
      expect(await page.getByRole('note', { name: 'Simulated run' }).isVisible()).toBe(true);
    }
    expect(await page.title()).toMatch(/^REPLAY · SIMULATION/);
  });

  it.each([
    ['sun', 360, 'all'],
    ['shade', 1_280, 'all'],
    ['night', 360, 'contrast'],
  ] as const)(
    'in %s light at %i px: Review has no barrier by WCAG 2.2 AA, text at 7:1, nothing beside the screen',
    async (theme, width, rules) => {
      go(140);
      const page = await open('review', width, theme);
      expect(await barriers(page, rules)).toEqual([]);
      expect(await tooSmall(page.locator('body'))).toEqual([]);
    },
  );

  it('steps, plays, goes anywhere, and back in time without joining what was drawn before', async () => {
    go(100);
    const page = await open('trend', 1_280);
    const bar = page.getByRole('region', { name: 'Replay' });
    await bar.getByRole('button', { name: '60 s on' }).click();
    await expect.poll(() => screen.replay.player.state.atMs).toBe(screen.replay.player.state.fromMs + 160_000);
    await bar.getByLabel('Moment shown').fill(String(screen.replay.player.state.fromMs + 30_000));
    await expect.poll(() => screen.replay.player.state.atMs).toBe(screen.replay.player.state.fromMs + 30_000);
    await bar.getByLabel('Pace').selectOption('from change to change');
    await bar.getByRole('button', { name: 'Play' }).click();
    await expect.poll(() => screen.replay.player.state.atMs).toBe(screen.replay.player.state.toMs);
    await expect.poll(() => screen.replay.player.state.playing).toBe(false);
    screen.replay.player.order({ do: 'speed', speed: 1 });
  });

  it('refuses entries in words and takes what was found, with its lag', async () => {
    go(140);
    const page = await open('review', 1_280);
    await page.getByLabel('Your initials').fill('QR');
    await page.getByRole('button', { name: 'Use these' }).click();
    const found = page.getByRole('region', { name: 'What was found on site' });
    await found.getByLabel('What it was').selectOption('Head off');
    await found.getByLabel('Where').selectOption('a-3');
    await found
      .getByLabel('Since, at best guess')
      .fill(fieldTime(screen.recorded.shown[88]!.atMs, screen.recorded.layout.timeZone));
    await found.getByRole('button', { name: 'Moment shown' }).last().click();
    await found.getByLabel('In words').fill('lay in the grass');
    await found
      .getByLabel('Photos')
      .setInputFiles({ name: 'grass.png', mimeType: 'image/png', buffer: await page.screenshot() });
    await found.getByRole('button', { name: 'Put on the track' }).click();
    await found.getByText(/flagged after \d+ s as/).waitFor();
    expect(
      await found
        .getByRole('img', { name: 'grass.png' })
        .evaluate((image: HTMLImageElement) => image.decode().then(() => image.naturalWidth)),
    ).toBe(1_280);
    const against = page.getByRole('region', { name: 'Flagged against found' });
    expect(await against.getByRole('row', { name: /^Head off 1 1 0/ }).isVisible()).toBe(true);
    await page.goto(`${screen.address}/#walk-round`);
    await page.getByLabel('What others should know').fill('x');
    await page.getByRole('button', { name: 'Put on record' }).click();
    await page.getByText('This is a replay: what happened then cannot be changed.').waitFor();
  });

  it('has a page to print that shows with its own style alone, and fits one sheet', async () => {
    const page = await open('review', 1_280);
    await page.goto(`${screen.address}/api/review/export/report.html`);
    expect(await page.getByRole('heading', { level: 1 }).innerText()).toContain('after-action page');
    expect(
      await page
        .locator('.mark')
        .first()
        .evaluate((mark) => getComputedStyle(mark).borderTopStyle),
    ).toBe('double');
    const sheet = (await page.pdf({ format: 'A4' })).toString('latin1');
    expect(sheet.match(/\/Type \/Page\b(?!s)/g)?.length).toBe(1);
  });

  it("runs today's rules and says that nothing differs", async () => {
    const page = await open('review', 1_280);
    await page.getByRole('button', { name: "Under today's rules" }).click();
    await page.getByText("No difference: today's rules flag the same").waitFor();
    expect(
      await page.getByRole('region', { name: 'Replay' }).getByText("under today's rules", { exact: true }).isVisible(),
    ).toBe(true);
    await page.getByRole('button', { name: 'As shown then' }).click();
    const download = page.waitForEvent('download');
    await page.getByRole('main').getByRole('link', { name: 'Alarms', exact: true }).click();
    expect((await download).suggestedFilename()).toMatch(/^SIMULATED-REPLAY-larch-cove-.*-alarms\.csv$/);
  });
});
