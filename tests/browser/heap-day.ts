/**
 * Feeds a page pictures as fast as it takes them, a run's second each, from screen to screen, and weighs its heap after
 * each stretch.
 *
 * In: the built screen, how many minutes of the run, after how many of them to weigh. Out: bytes of the JavaScript heap
 * in use after a collection, and nodes of the page, at each weighing; told as they come. The page stands on each screen
 * for a minute of the run, so that opening and leaving is in it too.
 */
import { SCREENS } from '../../ui/words/screens.ts';
import { clockWords } from '../../ui/words/time.ts';
import type { Layout } from '../../config/layout/layout.ts';
import type { BuiltScreen } from './built-screen.ts';

export interface Weighing {
  readonly pictures: number;
  readonly bytes: number;
  readonly nodes: number;
}

const MINUTE_S = 60;

export async function heapOver(
  screen: BuiltScreen,
  layout: Layout,
  minutes: number,
  everyMinutes: number,
  told: (weighing: Weighing) => void,
): Promise<Weighing[]> {
  const page = await screen.open('faulty', 'site', { width: 1_280 });
  const devtools = await page.context().newCDPSession(page);
  const weighings: Weighing[] = [];
  const { gateway } = screen;
  for (let minute = 1; minute <= minutes; minute += 1) {
    await screen.show(page, SCREENS[minute % SCREENS.length]!.name);
    for (let second = 0; second < MINUTE_S; second += 1) {
      gateway.aheadMs += 1_000;
      gateway.tell();
    }
    const words = clockWords(Date.now() + gateway.aheadMs, layout.timeZone);
    const before = clockWords(Date.now() + gateway.aheadMs - 60_000, layout.timeZone);
    // Nothing is sent on until the page has shown it.
    await page.waitForFunction(
      ([now, then]) => [now, then].some((time) => document.querySelector('.clock')?.textContent.includes(time!)),
      [words, before],
      { timeout: 60_000 },
    );
    if (minute % everyMinutes !== 0) continue;
    await screen.show(page, 'site');
    for (let again = 0; again < 3; again += 1) await devtools.send('HeapProfiler.collectGarbage');
    const { usedSize } = await devtools.send('Runtime.getHeapUsage');
    const { nodes } = await devtools.send('Memory.getDOMCounters');
    const weighing = { pictures: minute * MINUTE_S, bytes: usedSize, nodes };
    weighings.push(weighing);
    told(weighing);
  }
  return weighings;
}
