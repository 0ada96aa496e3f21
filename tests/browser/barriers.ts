/**
 * What keeps people from using a page: barriers by WCAG 2.2 AA (axe-core's rules), text under 7:1, what lies beside the
 * screen, and what is too small for a glove.
 *
 * In: a page or a part of it. Out: a sentence for each; empty when there is none. Lights differ in colours alone, so
 * one light of each width is held to all rules and the others to those of contrast.
 */
import axe, { type RunOptions } from 'axe-core';
import type { Locator, Page } from 'playwright-core';

const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
const CONTRAST = ['color-contrast', 'color-contrast-enhanced'];
const OPTIONS: Readonly<Record<'all' | 'contrast', RunOptions>> = {
  all: {
    runOnly: { type: 'tag', values: TAGS },
    rules: { 'color-contrast-enhanced': { enabled: true } },
    resultTypes: ['violations'],
  },
  contrast: { runOnly: { type: 'rule', values: CONTRAST }, resultTypes: ['violations'] },
};
const LEAST_PX = 47.5;

export async function barriers(page: Page, rules: keyof typeof OPTIONS = 'all'): Promise<string[]> {
  // A screen that is still fetched has no barrier, because it has nothing.
  await page.getByText('Fetching this screen.').waitFor({ state: 'detached' });
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(
    (options) => (window as unknown as { axe: typeof axe }).axe.run(document, options),
    OPTIONS[rules],
  );
  const found = violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html.slice(0, 160)).join(' | ')}`);
  const besidePx = await page.evaluate(
    () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
  );
  return besidePx > 0 ? [...found, `${besidePx} px too wide`] : found;
}

/** Of all that can be pressed or filled in, a label counting for its field. */
export async function tooSmall(part: Locator): Promise<string[]> {
  return part.evaluate(
    (root, leastPx) =>
      [...root.querySelectorAll<HTMLElement>('button, a.button, figure a, select, input, textarea, summary')].flatMap(
        (one) => {
          const { width, height } = (one.closest('label') ?? one).getBoundingClientRect();
          return width > 0 && (height < leastPx || width < leastPx)
            ? [`${one.textContent.trim() || one.id}: ${width} x ${height}`]
            : [];
        },
      ),
    LEAST_PX,
  );
}
