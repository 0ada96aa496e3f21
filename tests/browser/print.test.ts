/**
 * Sheets on paper: every page of a simulated run says so, nothing but the sheet is on it, and night does not print
 * black.
 */
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { findProgram, missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';

const SHOTS = 'tests/artifacts/ui';
const { layout } = demoSite();
const noPrinter = missing(BROWSERS) || missing('gs');

/** Text of a PDF, page by page. */
function pagesOf(file: string): string[] {
  const folder = mkdtempSync(join(tmpdir(), 'wetdown-print-'));
  execFileSync(findProgram('gs')!, [
    '-q',
    '-dNOPAUSE',
    '-dBATCH',
    '-sDEVICE=txtwrite',
    `-sOutputFile=${folder}/%03d.txt`,
    file,
  ]);
  const pages = readdirSync(folder)
    .sort()
    .map((name) => readFileSync(join(folder, name), 'utf8'));
  rmSync(folder, { recursive: true });
  return pages;
}

describe.skipIf(noPrinter)('a sheet on paper', () => {
  const screen = new BuiltScreen(layout);
  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true });
    await screen.start();
  });
  afterAll(() => screen.stop());

  it.each(['handover', 'pre-flight'])(
    '%s: SIMULATED on each page, no controls, dark on light also at night',
    async (name) => {
      const page = await screen.open('faulty', name, { theme: 'night', width: 1_280 });
      await page.getByRole('button', { name: 'Print this sheet' }).waitFor();
      await page.evaluate(() => void (globalThis.print = () => document.body.setAttribute('data-printed', 'yes')));
      await page.getByRole('button', { name: 'Print this sheet' }).click();
      expect(await page.locator('body[data-printed]').count()).toBe(1);
      const file = `${SHOTS}/${name}.pdf`;
      // A small page, so that there is more than one of them.
      await page.pdf({ path: file, format: 'A5' });
      const pages = pagesOf(file);
      expect(pages.length).toBeGreaterThan(1);
      expect(pages.filter((text) => !text.includes('SIMULATED'))).toEqual([]);
      expect(pages.join('\n')).not.toMatch(/Print this sheet|Walk-round screen|Devices/);
      await page.emulateMedia({ media: 'print' });
      expect(await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor)).toBe(
        'rgb(255, 255, 255)',
      );
    },
  );

  it('has the same colours in every light: each that a light sets, paper sets too', async () => {
    const page = await screen.open('faulty', 'review', { width: 1_280 });
    await page.emulateMedia({ media: 'print' });
    const seen = await page.evaluate(() => {
      const root = document.documentElement;
      return ['sun', 'shade', 'night'].map((theme) => {
        root.dataset['theme'] = theme;
        const names = [...document.styleSheets].flatMap((sheet) =>
          [...sheet.cssRules].flatMap((rule) =>
            rule instanceof CSSStyleRule && rule.selectorText.includes('night') ? [...rule.style] : [],
          ),
        );
        const style = getComputedStyle(root);
        return names.filter((name) => name.startsWith('--')).map((name) => `${name} ${style.getPropertyValue(name)}`);
      });
    });
    expect(seen[0]!.length).toBeGreaterThanOrEqual(17);
    expect(seen[1]).toEqual(seen[0]);
    expect(seen[2]).toEqual(seen[0]);
  });

  it('a real run carries no such mark', async () => {
    screen.gateway.simulated = false;
    const page = await screen.open('faulty', 'handover', { width: 1_280 });
    await page.pdf({ path: `${SHOTS}/handover-real.pdf`, format: 'A4' });
    expect(pagesOf(`${SHOTS}/handover-real.pdf`).join('\n')).not.toContain('SIMULATED');
    screen.gateway.simulated = true;
  });

  it('the handover says what the next one must know', async () => {
    const page = await screen.open('faulty', 'handover', { width: 1_280 });
    const text = await page.locator('main').innerText();
    for (const part of [
      'Standing: 3, cleared and not acknowledged: 1, set aside: 1',
      'Only if incident command has cleared the area. Let hot engines cool. Bleed the line before ' +
        'opening a coupling or fitting a gauge.',
      'head off',
      'coupling weeps, known',
      'taken by KM',
      'Tender due at the ramp',
      'Nothing fresh from end of line D',
      'Cannot be seen here',
    ])
      expect(text).toContain(part);
    expect(text.match(/.{20}\. [a-z].{10}/g), 'sentences that begin small').toBeNull();
    for (const structure of layout.structures) expect(text).toContain(structure.label);
  });
});
