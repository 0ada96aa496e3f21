/**
 * The record of an invented day and night for measuring: 24 h of the demonstration's site, 12 channels at 1 Hz and two
 * slow ones, with tender, refuelling and three faults. A copy stays in the temporary folder, so that a second bench
 * need not play the day again.
 */
import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { recordRun, type RunningRecord } from '../support/recorded-run.ts';

const HOUR_S = 3_600;

export function dayRecord(hours: number): string {
  const folder = join(tmpdir(), `wetdown-day-${hours}`);
  const made = existsSync(join(folder, 'done'))
    ? readdirSync(folder).find((name) => name.endsWith('.sqlite'))
    : undefined;
  if (made) return join(folder, made);
  mkdirSync(folder, { recursive: true });
  const { path } = recordRun(folder, { seconds: hours * HOUR_S, deeds: eventfulDay(0, hours), keepShown: false });
  mkdirSync(join(folder, 'done'));
  return path;
}

/** What happens in up to a day and night that begin at an hour of the run, by its second. */
export function eventfulDay(from: number, hours: number): Record<number, (run: RunningRecord) => void> {
  const at = (hour: number, second = 0): number => Math.round((from + hour) * HOUR_S) + second;
  const deeds: Record<number, (run: RunningRecord) => void> = {
    [at(0, 90)]: (run) => void run.baseline(),
  };
  if (from === 0) deeds[at(0, 30)] = (run) => run.start('shuttle', 'tank');
  for (let hour = 1; hour < hours; hour += 2) {
    deeds[at(hour)] = (run) => void run.enter({ kind: 'mode', by: 'QR', mode: 'refuelling', minutes: 6 });
    deeds[at(hour, 20)] = (run) => run.start('refuel', 'pump');
  }
  const faults = [
    ['head-off', 'a-3', 2.5, 15],
    ['leak', 'c-hose-2', 8.3, 25],
    ['plug', 'b-2', 15.4, 40],
  ] as const;
  for (const [what, place, hour, minutes] of faults) {
    deeds[at(hour)] = (run) => run.start(what, place);
    deeds[at(hour, 120)] = (run) =>
      run.loop.latest?.picture.alarms.forEach(({ verdict }) =>
        run.enter({ kind: 'acknowledge', by: 'QR', alarm: verdict.id }),
      );
    deeds[at(hour, minutes * 60)] = (run) => run.repair(what, place);
  }
  return deeds;
}
