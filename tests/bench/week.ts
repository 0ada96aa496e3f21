/**
 * Whether the memory stays flat: a simulated week of the demonstration's site, 12 channels at 1 Hz, through intake,
 * core and journal.
 *
 * Run: npm run bench -- week [HOURS]. Every day has tenders, refuelling, three faults, acknowledgements and a baseline;
 * each packet comes as JSON and goes to a record in the temporary folder, which is deleted. Told four times a day: what
 * is left on the heap after a collection. The first day fills what is bounded by design (samples, duplicates, alarm
 * books); growth is judged from there on.
 */
import { mkdirSync, mkdtempSync, rmSync, statSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { recordRun, type RunningRecord } from '../support/recorded-run.ts';
import { eventfulDay } from './day-record.ts';

const HOUR_S = 3_600;
const hours = Number(process.argv.find((argument) => /^\d+$/.test(argument)) ?? 168);
setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as () => void;
const folder = mkdtempSync(join(tmpdir(), 'wetdown-week-'));
const heaps: { readonly hour: number; readonly heapMB: number }[] = [];
const cpu = process.cpuUsage();

function measure(hour: number): void {
  collect();
  const { heapUsed, external, rss } = process.memoryUsage();
  const heapMB = (heapUsed + external) / 1e6;
  heaps.push({ hour, heapMB });
  const { user, system } = process.cpuUsage(cpu);
  const diskMB = readdirSync(folder).reduce((sum, file) => sum + statSync(join(folder, file)).size, 0) / 1e6;
  process.stdout.write(
    `hour ${String(hour).padStart(4)}: heap ${heapMB.toFixed(1).padStart(6)} MB, process ` +
      `${(rss / 1e6).toFixed(0).padStart(4)} MB, record ${diskMB.toFixed(0).padStart(5)} MB, processor ` +
      `${((user + system) / 1e6).toFixed(0)} s\n`,
  );
}

try {
  mkdirSync(folder, { recursive: true });
  const deeds: Record<number, (run: RunningRecord) => void> = {};
  for (let hour = 0; hour < hours; hour += 24) Object.assign(deeds, eventfulDay(hour, Math.min(24, hours - hour)));
  const every = hours < 24 ? 1 : 6;
  for (let hour = every; hour < hours; hour += every) {
    const also = deeds[hour * HOUR_S];
    deeds[hour * HOUR_S] = (run) => {
      also?.(run);
      measure(hour);
    };
  }
  recordRun(folder, { seconds: hours * HOUR_S, deeds, keepShown: false });
  measure(hours);
  // Least squares, MB a day, from the second day on.
  const later = heaps.filter(({ hour }) => hour >= Math.min(24, hours / 2));
  const [meanHour, meanMB] = [
    later.reduce((sum, { hour }) => sum + hour, 0) / later.length,
    later.reduce((sum, { heapMB }) => sum + heapMB, 0) / later.length,
  ];
  const slope =
    later.reduce((sum, { hour, heapMB }) => sum + (hour - meanHour) * (heapMB - meanMB), 0) /
    later.reduce((sum, { hour }) => sum + (hour - meanHour) ** 2, 0);
  process.stdout.write(`growth from hour ${later[0]?.hour ?? 0} on: ${(24 * slope).toFixed(2)} MB a day\n`);
} finally {
  rmSync(folder, { recursive: true, force: true });
}
