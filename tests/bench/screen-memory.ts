/**
 * Whether the page stays as light as it was over a day: 86,400 pictures, a run's second each, from screen to screen, as
 * fast as the page takes them.
 *
 * Run: npm run bench -- screen-memory [MINUTES] (needs chromium; a day of 1,440 takes about a quarter of an hour).
 * Prints the heap after a collection and the nodes of the page every twenty-fourth; ends with the last quarter against
 * the second. In the first the browser still compiles.
 */
import { demoSite } from '../support/demo-site.ts';
import { BuiltScreen } from '../browser/built-screen.ts';
import { heapOver, type Weighing } from '../browser/heap-day.ts';

const minutes = Number(process.argv.slice(2).find((word) => /^\d+$/.test(word)) ?? 1_440);
const { layout } = demoSite();
const screen = new BuiltScreen(layout);
await screen.start();
const weighings = await heapOver(screen, layout, minutes, Math.ceil(minutes / 24), ({ pictures, bytes, nodes }) => {
  process.stdout.write(
    `${String(pictures).padStart(6)} pictures: heap ${(bytes / 1e6).toFixed(2)} MB, ${nodes} nodes\n`,
  );
});
await screen.stop();
/** Mean of the weighings from one share of the day to another. */
const mean = (from: number, to: number, of: (one: Weighing) => number): number => {
  const some = weighings.slice(Math.floor(from * weighings.length), Math.floor(to * weighings.length));
  return some.reduce((sum, one) => sum + of(one), 0) / some.length;
};
const lateOverEarly = (of: (one: Weighing) => number): string => (mean(0.75, 1, of) / mean(0.25, 0.5, of)).toFixed(3);
process.stdout.write(
  `last quarter over the second: heap ${lateOverEarly(({ bytes }) => bytes)}, nodes ` +
    `${lateOverEarly(({ nodes }) => nodes)}\n`,
);
