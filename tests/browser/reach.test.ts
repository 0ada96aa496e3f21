/**
 * Reach and sight beyond WCAG: what is pressed in gloves (72 CSS px, 12 between: 19 mm keys for mittens,
 * MIL-STD-1472E), state words at 7:1 in every light, a night without white or blue, states that do not need colour.
 * Greyscale shots are kept.
 */
import { mkdirSync, readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const SHOTS = 'tests/artifacts/ui';

/** Themes of style/themes.css by name, each colour by its own. */
function themes(): Map<string, Map<string, string>> {
  const css = readFileSync('ui/style/themes.css', 'utf8');
  return new Map(
    [...css.matchAll(/\[data-theme='(\w+)'\]\s*\{([^}]*)\}/g)].map(([, name, body]) => [
      name!,
      new Map([...body!.matchAll(/--([\w-]+):\s*(#[0-9a-f]{6})/g)].map(([, key, value]) => [key!, value!])),
    ]),
  );
}

const channels = (colour: string): number[] => [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16));

/** WCAG 2.2, relative luminance and contrast ratio. */
function contrast(one: string, other: string): number {
  const [light, dark] = [one, other]
    .map((colour) => {
      const [red, green, blue] = channels(colour)
        .map((value) => value / 255)
        .map((share) => (share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4));
      return 0.2126 * red! + 0.7152 * green! + 0.0722 * blue!;
    })
    .sort((a, b) => b - a);
  return (light! + 0.05) / (dark! + 0.05);
}

describe('the three lights', () => {
  it('are there, and black on white has the contrast it should', () => {
    expect([...themes().keys()]).toEqual(['sun', 'shade', 'night']);
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6);
    expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.48, 2);
  });

  it.each([...themes()])(
    '%s: every word that carries a state stands at 7:1 or more on every ground it can stand on',
    (_name, colours) => {
      const of = (name: string): string => colours.get(name)!;
      const pairs = [
        ...['ink', 'quiet', 'medium', 'high', 'people'].flatMap((word) =>
          ['ground', 'panel'].map((under) => [word, under]),
        ),
        ...['ink', 'quiet'].map((word) => [word, 'wash']),
        ...['medium', 'high', 'people'].map((fill) => ['on-fill', fill]),
      ];
      expect(
        pairs.filter(([word, under]) => contrast(of(word!), of(under!)) < 7).map((pair) => pair.join(' on ')),
      ).toEqual([]);
    },
  );

  it('sun is made for glare: its ink at 15:1; night has no white and no blue', () => {
    const sun = themes().get('sun')!;
    expect(contrast(sun.get('ink')!, sun.get('ground')!)).toBeGreaterThan(15);
    expect([...themes().get('night')!].filter(([, colour]) => channels(colour)[2]! > 0x20)).toEqual([]);
  });
});

describe.skipIf(missing(BROWSERS))('on a phone with gloves', () => {
  const screen = new BuiltScreen(demoSite().layout);
  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true });
    await screen.start();
  });
  afterAll(() => screen.stop());

  it.each([
    ['site', 4],
    ['walk-round', 45],
  ] as const)('%s: what is pressed in gloves is 72 px with 12 between', async (name, least) => {
    const page = await screen.open('faulty', name, { touch: true, initials: 'QR' });
    if (name === 'site') {
      await page.getByRole('button', { name: 'Why, where, radio' }).first().click();
      await page.getByText('Put on the shelf').first().click();
    }
    const boxes = await page.evaluate(() =>
      [...document.querySelectorAll<HTMLElement>('.glove button, .glove label')]
        .map((one) => {
          const { left, top, right, bottom } = one.getBoundingClientRect();
          return { words: one.innerText.slice(0, 40), sticky: one.closest('.post') !== null, left, top, right, bottom };
        })
        .filter(({ left, right }) => right > left),
    );
    expect(boxes.length).toBeGreaterThanOrEqual(least);
    expect(
      boxes
        .filter(({ left, right, top, bottom }) => right - left < 71.5 || bottom - top < 71.5)
        .map(({ words }) => words),
    ).toEqual([]);
    // What floats over the list is over something at any time.
    const still = boxes.filter(({ sticky }) => !sticky);
    const close = still.flatMap((one, index) =>
      still
        .slice(index + 1)
        .filter((other) => {
          const across = Math.max(other.left - one.right, one.left - other.right);
          const down = Math.max(other.top - one.bottom, one.top - other.bottom);
          return Math.max(across, down) < 11.5;
        })
        .map((other) => `${one.words} / ${other.words}`),
    );
    expect(close).toEqual([]);
  });

  it.each(['site', 'structures'])(
    '%s: a state is mark and word together, and stays readable without colour',
    async (name) => {
      for (const [theme, width] of [
        ['sun', 360],
        ['night', 1_280],
      ] as const) {
        const page = await screen.open('faulty', name, { theme, width });
        const bare = await page.evaluate(
          () =>
            [...document.querySelectorAll('span.state')].filter(
              (one) => !one.querySelector('svg.mark') || (one.querySelector('b')?.textContent ?? '').trim() === '',
            ).length,
        );
        expect(bare).toBe(0);
        await page.evaluate(() => document.documentElement.style.setProperty('filter', 'grayscale(1)'));
        const shot = await page.screenshot({ path: `${SHOTS}/grey-${name}-${theme}-${width}.png` });
        expect(shot.length).toBeGreaterThan(20_000);
      }
    },
  );
});
