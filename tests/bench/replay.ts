/**
 * How long it takes to go back: a day's record driven through the core again, and any second of it shown.
 *
 * Run: npm run bench -- replay [HOURS]. The day is played once (minutes) and kept in the temporary folder. Figures are
 * of this machine; the aim for 24 h is 10 s, the bar 60 s; for any second of it 500 ms, for a chart of 12 channels over
 * the day 100 ms.
 */
import { statSync } from 'node:fs';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { openRun } from '../../gateway/journal/run-reader.ts';
import { rerun } from '../../gateway/replay/rerun.ts';
import { ShownThen } from '../../gateway/replay/shown-then.ts';
import { lookBack } from '../../gateway/review/look-back.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { dayRecord } from './day-record.ts';

const hours = Number(process.argv.find((argument) => /^\d+$/.test(argument)) ?? 24);

function tell(what: string, value: number, unit: string, aim = ''): void {
  process.stdout.write(
    `${what.padEnd(64)} ${value.toFixed(value < 10 ? 2 : 0).padStart(8)} ` +
      `${unit}${aim === '' ? '' : `  (aim: ${aim})`}\n`,
  );
}

const path = dayRecord(hours);
const opened = openRun(path);
if (!opened.ok) throw new Error(opened.why);
const { reader } = opened;
const parsed = parseLayout(reader.header.layoutText, `${reader.header.site}.yaml`);
if (!parsed.ok) throw new Error('the layout in the record has faults');
const { layout } = parsed;

tell(`record of ${hours} h, 12 channels at 1 Hz`, statSync(path).size / 1e6, 'MB');
/** In step with the re-run: the whole record would not fit into the memory. */
const recorded = reader.pictureTexts();
let next = recorded.next();
let pictures = 0;
let frames = 0;
let same = 0;
const startMs = performance.now();
const cpu = process.cpuUsage();
const steps = rerun(
  {
    layout,
    startedMs: reader.header.startedMs,
    endMs: reader.endMs,
    events: reader.events(),
    awakeMs: reader.pictureTimes(),
  },
  createWatch(layout, { simulated: true }),
  (picture) => {
    frames += 1;
    while (!next.done && next.value.atMs < picture.atMs) next = recorded.next();
    if (next.done || next.value.atMs !== picture.atMs) return;
    pictures += 1;
    if (next.value.body === JSON.stringify(picture)) same += 1;
  },
);
for (const atMs of steps) if (atMs > reader.endMs) throw new Error('ran past the end');
tell('driven through the core again, every second of it', (performance.now() - startMs) / 1_000, 's', '10, at most 60');
const { user, system } = process.cpuUsage(cpu);
tell('of which this process had the processor', (user + system) / 1e6, 's');
tell('a frame', (performance.now() - startMs) / frames, 'ms');
const shownThen = new ShownThen(layout, reader);
const scrubs = Array.from({ length: 400 }, (_, index) => {
  const began = performance.now();
  shownThen.at(reader.header.startedMs + ((index * 7_919) % 86_400) * 1_000 * (hours / 24));
  return performance.now() - began;
}).sort((a, b) => a - b);
tell('any second shown, slowest of 400', scrubs.at(-1)!, 'ms', 'under 500');
const fast = layout.sensors.filter(({ intervalS }) => intervalS === 1).map(({ id }) => id);
const charts = performance.now();
for (const channel of fast) reader.channels.series(layout, channel, reader.header.startedMs, reader.endMs);
tell(`charts of ${fast.length} channels over the whole record`, performance.now() - charts, 'ms', 'under 100');
const looking = performance.now();
for (const atMs of lookBack(reader, layout, [])) if (atMs > reader.endMs) throw new Error('ran past the end');
tell('figures of the whole record', (performance.now() - looking) / 1_000, 's');
tell('recorded pictures', pictures, 'pictures');
tell('of which the re-run gave the same bytes', same, 'pictures', String(pictures));
