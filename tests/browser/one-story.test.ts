/**
 * One story on every screen: pictures of the core's own, made by the plant with two troubles at once, read off in
 * Chromium. What the functions behind the words may not say together is in tests/contradictions; here it is what a
 * person reads.
 */
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Picture } from '../../config/wire/wire.ts';
import { SCREENS } from '../../ui/words/screens.ts';
import { blankAlarm } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';
import { Drive } from '../support/drive.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const { layout } = demoSite();
const READ = SCREENS.map(({ name }) => name).filter(
  (name) => !['trend', 'review', 'devices', 'what-if', 'pre-flight', 'cautions'].includes(name),
);

function after(...troubles: readonly (readonly [string, string, number?])[]): Picture {
  const drive = new Drive(layout, { seed: 9_741 });
  drive.run(100);
  expect(drive.baseline()).toBeNull();
  drive.run(10);
  for (const [what, at, size] of troubles) {
    drive.carry({ do: 'start', what, at, ...(size === undefined ? {} : { size }) });
    drive.run(35);
  }
  return drive.picture;
}

describe.skipIf(missing(BROWSERS))('one story', () => {
  const screen = new BuiltScreen(layout);
  beforeAll(() => screen.start(), 60_000);
  afterAll(() => screen.stop());

  /** What each screen shows of a picture, by name. */
  async function read(picture: Picture): Promise<Map<string, string>> {
    screen.gateway.given = picture;
    const page = await screen.open('healthy', 'site', { width: 1_280 });
    const out = new Map<string, string>();
    for (const name of READ) {
      await screen.show(page, name);
      out.set(name, await settledText(page));
    }
    return out;
  }

  /** Cards come one after the other: read when nothing more comes. */
  async function settledText(page: Page): Promise<string> {
    let [before, now] = ['', await page.locator('body').innerText()];
    while (before !== now) {
      await page.waitForTimeout(250);
      [before, now] = [now, await page.locator('body').innerText()];
    }
    return now;
  }

  const saying = (screens: ReadonlyMap<string, string>, words: RegExp): string[] =>
    [...screens].filter(([, text]) => words.test(text)).map(([name]) => name);

  it('a burst and a silent flow meter: no screen says that anything matches the baseline, the burst line has failed', async () => {
    const screens = await read(after(['hose-burst', 'd-hose-1'], ['sensor-silent', 'flow']));
    expect(saying(screens, /flow match/)).toEqual([]);
    expect(saying(screens, /running as modelled/)).toEqual([]);
    expect(screens.get('structures')).toMatch(/Failed: 1\s[\s\S]*lodge[\s\S]*failed, [\s\S]*heads/);
    expect(screens.get('structures')).not.toMatch(/lodge[^.]*failed,[^.]*(empty|out of fuel) in/);
    expect(screens.get('handover')).toMatch(/lodge: failed, /);
    expect(screens.get('lines')).toMatch(/because of the hose burst on line D/);
    expect(saying(screens, /running short|likeliest reading|the network/i)).toEqual([]);
  });

  it('suction trouble: nowhere ample, the pump nowhere simply running', async () => {
    const screens = await read(after(['suction-trouble', 'pump']));
    expect(saying(screens, /suction ample/)).toEqual([]);
    expect(screens.get('pump')).toMatch(/It looks like[^.]*the water/);
    for (const [name, text] of screens) expect(text, name).not.toMatch(/^running$/m);
  });

  it('a low tank is no trouble of the water: the pump card says that nothing stands out, and how long it lasts', async () => {
    const healthy = after();
    const blank = blankAlarm('tank-low:tank');
    const emptyInS = { best: 700, low: 600, high: 800 };
    const low: Picture = {
      ...healthy,
      supplies: healthy.supplies.map((supply) => ({ ...supply, filling: false, emptyInS })),
      alarms: [
        {
          ...blank,
          priority: 'medium',
          verdict: {
            ...blank.verdict,
            cause: 'tank-low',
            subject: 'tank',
            subjectKind: 'source',
            headline: 'framed tank: tank low, about 11 min left (10 to 13 min)',
          },
        },
      ],
    };
    const screens = await read(low);
    expect(saying(screens, /It looks like/)).toEqual([]);
    expect(screens.get('pump')).toMatch(/Nothing stands out\./);
    expect(screens.get('pump')).toMatch(/tank low, about 11 min left \(10 to 13 min\)/);
  });
});
