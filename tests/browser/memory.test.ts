/**
 * The page keeps nothing of the pictures that it has shown: some forty minutes of a run, every screen opened three
 * times. A picture weighs tens of kB, so that one kept would show. `npm run bench -- screen-memory` does a day.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { SCREENS } from '../../ui/words/screens.ts';
import { demoSite } from '../support/demo-site.ts';
import { BROWSERS } from './chromium.ts';
import { missing } from '../support/machine.ts';
import { BuiltScreen } from './built-screen.ts';
import { heapOver } from './heap-day.ts';

/** Compiled code still grows in this time, by less than this. */
const GROWTH_BYTES = 2_500_000;
const { layout } = demoSite();
const screen = new BuiltScreen(layout);

describe.skipIf(missing(BROWSERS))('the heap of the page', () => {
  beforeAll(() => screen.start());
  afterAll(() => screen.stop());

  it('is no heavier after each screen was opened for the third time than after the first, but for a little', async () => {
    const [first, , third] = await heapOver(screen, layout, 3 * SCREENS.length, SCREENS.length, () => undefined);
    expect(third!.pictures - first!.pictures).toBe(2 * SCREENS.length * 60);
    expect(third!.bytes - first!.bytes).toBeLessThan(GROWTH_BYTES);
    expect(third!.nodes).toBeLessThan(1.5 * first!.nodes);
  });
});
