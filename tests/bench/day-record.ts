/**
 * The record of an invented day and night for measuring: 24 h of the demonstration's site, 12 channels at 1 Hz and two slow ones, with
 * tender, refuelling and three faults. A copy stays in the temporary folder, so that a second bench need not play the day again.
 */
import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { recordRun, type RunningRecord } from '../support/recorded-run.ts';

const HOUR_S = 3_600;

/** Tenders come when less than half of the tank is left, 1,500 L a minute, and go when most of it is full. */
function tenders(): (run: RunningRecord) => void {
  let filling = false;
  return (run) => {
    const level = run.loop.latest?.picture.channels.find(({ quantity }) => quantity === 'level')?.value ?? 0.5;
    if (filling ? level < 0.55 : level > 0.35) return;
    filling = !filling;
    if (filling) run.start('tender', 'tank', 1_500);
    else run.repair('tender', 'tank');
  };
}

export function dayRecord(hours: number): string {
  const folder = join(tmpdir(), `wetdown-day-${hours}`);
  const made = existsSync(join(folder, 'done')) ? readdirSync(folder).find((name) => name.endsWith('.sqlite')) : undefined;
  if (made) return join(folder, made);
  mkdirSync(folder, { recursive: true });
  const deeds: Record<number, (run: RunningRecord) => void> = {
    90: (run) => void run.baseline(),
  };
  const keepTank = tenders();
  for (let second = 300; second < hours * HOUR_S; second += 300) deeds[second] = keepTank;
  for (let hour = 1; hour < hours; hour += 2) {
    deeds[hour * HOUR_S + 10] = (run) => void run.enter({ kind: 'mode', by: 'QR', mode: 'refuelling', minutes: 6 });
    deeds[hour * HOUR_S + 30] = (run) => run.start('refuel', 'pump');
  }
  const faults = [['head-off', 'a-3', 2.5, 15], ['leak', 'c-hose-2', 8.3, 25], ['plug', 'b-2', 15.4, 40]] as const;
  for (const [what, at, hour, minutes] of faults) {
    deeds[Math.round(hour * HOUR_S) + 10] = (run) => run.start(what, at);
    deeds[Math.round(hour * HOUR_S) + 130] = (run) => run.loop.latest?.picture.alarms.forEach(({ verdict }) => run.enter({ kind: 'acknowledge', by: 'QR', alarm: verdict.id }));
    deeds[Math.round(hour * HOUR_S) + minutes * 60 + 10] = (run) => run.repair(what, at);
  }
  const { path } = recordRun(folder, { seconds: hours * HOUR_S, deeds, keepShown: false });
  mkdirSync(join(folder, 'done'));
  return path;
}
