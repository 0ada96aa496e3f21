/**
 * What stands is in sight on every screen, acknowledged or not, worst first; what has cleared stands apart. The banner
 * by itself, then on the real screen: over every screen, as it clears, returns, is shelved, while nothing comes from
 * the gateway, on a phone upright and on its side.
 */
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Alarm, AsideAlarm, Picture } from '../../config/wire/wire.ts';
import { bannerOf } from '../../ui/words/banner.ts';
import { SCREENS } from '../../ui/words/screens.ts';
import { blankAlarm, blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const NAMES = SCREENS.map(({ name }) => name);
const time = (atMs: number): string => `t${atMs}`;

function alarm(id: string, changes: Partial<Alarm> = {}, sinceMs = 0): Alarm {
  const one = blankAlarm(id, changes);
  return { ...one, verdict: { ...one.verdict, headline: id, sinceMs } };
}
const taken = (by: string): Partial<Alarm> => ({ state: 'acknowledged', acknowledgedBy: by });
const cleared = { state: 'returned-unacknowledged', clearedMs: 50 } as const;
const shelved = (one: Alarm): AsideAlarm => ({
  ...one,
  state: 'shelved',
  aside: { by: 'KM', why: 'known', untilMs: 900 },
});
const shown = (changes: Partial<Picture>): string[] =>
  bannerOf(blankPicture(0, changes), time).rows.map(({ headline }) => headline);
const more = (changes: Partial<Picture>): string => bannerOf(blankPicture(0, changes), time).more;

describe('the banner', () => {
  it('names the worst that stands although somebody has it, and beside it the worst that nobody has', () => {
    const alarms = [
      alarm('silent', { priority: 'low' }),
      alarm('suction', taken('RT'), 20),
      alarm('burst', taken('KM'), 10),
      alarm('leak', { priority: 'medium' }),
    ];
    expect(shown({ alarms })).toEqual(['burst', 'leak']);
    expect(more({ alarms })).toBe('+2 more standing, 1 not acknowledged');
    const [first] = bannerOf(blankPicture(0, { alarms }), time).rows;
    expect(first).toMatchObject({
      told: 'acknowledged by KM, standing since t10',
      reason: '8 of 8 structures short, now',
    });
  });

  it('of two of equal rank: what nobody has acknowledged, then what stands longest', () => {
    expect(shown({ alarms: [alarm('new', {}, 30), alarm('old', {}, 10)] })).toEqual(['old']);
    expect(shown({ alarms: [alarm('old', taken('KM'), 10), alarm('new', {}, 30)] })).toEqual(['new']);
    expect(shown({ alarms: [alarm('new', taken('KM'), 30), alarm('old', taken('KM'), 10)] })).toEqual(['old']);
  });

  it('does not count what has cleared as standing, and says how many', () => {
    const alarms = [alarm('leak', { priority: 'low' }), alarm('burst', cleared), alarm('plug', cleared)];
    expect(shown({ alarms })).toEqual(['leak']);
    expect(more({ alarms })).toBe('2 cleared, not acknowledged');
    expect(shown({ alarms: [alarm('burst', cleared)] })).toEqual([]);
    expect(more({ alarms: [alarm('burst', cleared)] })).toBe('1 cleared, not acknowledged');
  });

  it('keeps what is shelved in sight where nothing as bad is named, and counts it where something is', () => {
    const burst = shelved(alarm('burst', {}, 10));
    const low = alarm('silent', { priority: 'low' });
    expect(shown({ alarms: [low], setAside: [burst] })).toEqual(['burst', 'silent']);
    expect(bannerOf(blankPicture(0, { setAside: [burst] }), time).rows[0]!.told).toBe(
      'shelved by KM until t900, standing since t10',
    );
    expect(shown({ alarms: [alarm('pump')], setAside: [burst] })).toEqual(['pump']);
    expect(more({ alarms: [alarm('pump')], setAside: [burst] })).toBe('1 set aside');
    expect(shown({ setAside: [{ ...burst, clearedMs: 60 }] })).toEqual([]);
  });

  it('keeps a hazard to people with its warning until somebody has acknowledged that it is over', () => {
    const hazard = alarm('hazard', { priority: 'people', ...taken('KM') });
    const low = alarm('silent', { priority: 'low' });
    for (const one of [hazard, { ...hazard, ...cleared }]) {
      const [first] = bannerOf(blankPicture(0, { alarms: [low, one] }), time).rows;
      expect(first).toMatchObject({
        headline: 'hazard',
        warning: 'Stay away from the pump and let it cool. Do not touch couplings: the water inside can scald.',
      });
    }
    expect(shown({ alarms: [low, hazard] })).toEqual(['hazard', 'silent']);
  });

  it('has nothing to say of nothing', () => {
    expect(bannerOf(blankPicture(0), time)).toEqual({ rows: [], more: '' });
  });
});

describe.skipIf(missing(BROWSERS))('on the screen', () => {
  const screen = new BuiltScreen(demoSite().layout);
  beforeAll(() => screen.start());
  afterEach(() => void (screen.gateway.change = null));
  afterAll(() => screen.stop());
  const words = 'header .alert';

  it.each([360, 1_024, 1_280])(
    'an acknowledged burst is named on every screen, by whom and since when (%i px)',
    async (width) => {
      const page = await screen.open('emergency', 'site', { width });
      for (const name of NAMES) {
        await screen.show(page, name);
        const banner = page.locator(words);
        expect(await banner.isVisible(), name).toBe(true);
        const told = (await banner.innerText()).replaceAll(/\s+/g, ' ');
        expect(told, name).toMatch(
          /High: Trunk: hose burst or parted.*acknowledged by KM, standing since \d\d:\d\d; 8 of 8 structures short, now.*Low: end of line E: no data.*not acknowledged, standing since \d\d:\d\d.*\+1 more standing/,
        );
        expect(
          await page.getByText('Advisory only. Sees no fire. Never go because of a reading.').first().isVisible(),
        ).toBe(true);
        const box = (await banner.boundingBox())!;
        expect(box.x >= 0 && box.x + box.width <= width && box.y < 200, `${name} ${JSON.stringify(box)}`).toBe(true);
      }
      expect(await page.title()).toContain('3 standing');
    },
  );

  it('a hazard to people says stay away on every screen, acknowledged or not, upright and on its side', async () => {
    screen.gateway.change = (alarms) =>
      alarms.map((one) => ({ ...one, state: 'acknowledged' as const, acknowledgedBy: 'KM' }));
    const page = await screen.open('hazard', 'site');
    for (const [width, height] of [
      [360, 720],
      [740, 360],
    ] as const) {
      await page.setViewportSize({ width, height });
      for (const name of NAMES) {
        await screen.show(page, name);
        const warning = page.locator(`${words} .warning`);
        expect(await warning.innerText(), name).toBe(
          'Stay away from the pump and let it cool. Do not touch couplings: the water inside can scald.',
        );
        const box = (await warning.boundingBox())!;
        expect(box.y + box.height, `${name} ${width}`).toBeLessThan(height / 1.5);
      }
    }
  });

  it('it clears, and no longer counts; it returns, and stands again; the link is lost, and it says how old that is', async () => {
    const page = await screen.open('emergency', 'trend', { width: 1_280, clock: true });
    const banner = page.locator(words);
    const told = async (): Promise<string> => (await banner.innerText()).replaceAll(/\s+/g, ' ');
    const burst = (atMs: number, over: boolean) => (alarms: readonly Alarm[]) =>
      alarms.map((one) =>
        one.verdict.cause === 'hose-burst' && over
          ? { ...one, state: 'returned-unacknowledged' as const, acknowledgedBy: null, clearedMs: atMs - 5_000 }
          : one,
      );
    screen.gateway.change = (alarms, atMs) => burst(atMs, true)(alarms);
    screen.gateway.tell();
    await expect.poll(told).toMatch(/^High: portable pump: suction trouble acknowledged by RT/);
    expect(await told()).toContain('1 cleared, not acknowledged');
    expect(await page.title()).toContain('2 standing');
    screen.gateway.change = null;
    screen.gateway.tell();
    await expect.poll(told).toMatch(/^High: Trunk: hose burst/);
    screen.gateway.gone = true;
    for (let second = 0; second < 20; second += 1) await page.clock.runFor(1_000);
    await expect.poll(told).toMatch(/^High: Trunk: hose burst.*acknowledged by KM.*As last heard, (1|2)\d s ago\./);
    screen.gateway.gone = false;
  });

  it('counts what stands, and keeps what has cleared apart from it', async () => {
    screen.gateway.change = (alarms, atMs) => [
      alarms[0]!,
      ...Array.from({ length: 14 }, (_, index) => ({
        ...alarms[2]!,
        verdict: { ...alarms[2]!.verdict, id: `gone-${index}` },
        state: 'returned-unacknowledged' as const,
        clearedMs: atMs - 60_000,
      })),
    ];
    const page = await screen.open('emergency', 'site', { width: 1_280 });
    await page.getByRole('heading', { name: 'Needs attention: 1', exact: true }).waitFor();
    await page.getByRole('heading', { name: 'Cleared, not acknowledged: 14', exact: true }).waitFor();
    await screen.show(page, 'alarms');
    await page.getByRole('heading', { name: 'Needs attention: 1', exact: true }).waitFor();
  });

  it('a shelved burst stays in sight on another screen', async () => {
    const page = await screen.open('emergency', 'site', { width: 1_280, initials: 'QR' });
    const card = page.getByRole('article').filter({ hasText: 'hose burst or parted' });
    await card.getByRole('button', { name: 'Why, where, radio' }).click();
    await card.getByText('Put on the shelf').click();
    await card.getByLabel('Why it can wait').fill('being mended');
    await card.getByRole('button', { name: 'Shelve it' }).click();
    await page.waitForTimeout(450);
    await card.getByRole('button', { name: 'Press again: off the list for 15 min' }).click();
    await expect.poll(() => screen.gateway.entries.at(-1)).toMatchObject({ kind: 'shelve', alarm: 'outflow:trunk' });
    await screen.show(page, 'devices');
    screen.gateway.tell();
    await expect
      .poll(async () => (await page.locator(words).innerText()).replaceAll(/\s+/g, ' '))
      .toMatch(/^High: portable pump: suction trouble.*1 set aside/);
  });
});
