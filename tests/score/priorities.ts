/**
 * How the priorities of alarms fall over a day of each bundled scenario, against 80 / 15 / 5 from low to high
 * (ISA-18.2, as commonly summarised).
 *
 * In: scenario, hours, seed. Out: counts of what was annunciated, by priority, with the alarms behind them. The
 * scenario plays its time line and then goes on as it left the site. A crew acknowledges within a minute; the orders
 * and stops of the time line are told to the gateway as they happen. `npm run score -- --priorities [HOURS]`.
 */
import { readdirSync } from 'node:fs';
import { PRIORITY_SHARES } from '../../config/alarm-targets.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { AlarmLoad, Priority } from '../../config/wire/wire.ts';
import type { Deed } from '../../simulator/events.ts';
import { Drive, scenarioNamed, siteLayout } from '../support/drive.ts';

export interface Distribution {
  readonly scenario: string;
  readonly hours: number;
  readonly byPriority: AlarmLoad['byPriority'];
  readonly worstHour: number;
  readonly chattering: number;
  /** Headlines with their priority when first seen, in order. */
  readonly flagged: readonly string[];
}

/** Judgement: a crew that is awake. */
const ACKNOWLEDGED_AFTER_MS = 60_000;
const SETTLED_S = 100;
const REFUEL_MIN = 5;

export const SCENARIOS: readonly string[] = readdirSync('simulator/scenarios')
  .map((file) => file.replace(/\.yaml$/, ''))
  .sort();

export function distributionOf(scenario: string, hours: number, seed: number): Distribution {
  const layout = siteLayout('larch-cove');
  const drive = new Drive(layout, { seed, scenario });
  const told = scenarioNamed(scenario).timeline.flatMap(({ afterS, deed }) => {
    const entry = orderOf(deed);
    return entry ? [{ afterS, entry }] : [];
  });
  const flagged = new Map<string, string>();
  let isWalked = false;
  for (let second = 1; second < hours * 3_600; second += 1) {
    for (const { afterS, entry } of told) if (afterS === second) enter(drive, entry);
    if (!isWalked && second > SETTLED_S && second % 30 === 0) isWalked = drive.baseline() === null;
    const { alarms, atMs } = drive.second();
    for (const { verdict, raisedMs, priority, state, reason } of alarms) {
      flagged.set(`${verdict.id} ${raisedMs} ${priority}`, `${priority}: ${verdict.headline} [${reason}]`);
      if (state !== 'acknowledged' && atMs - raisedMs > ACKNOWLEDGED_AFTER_MS)
        enter(drive, { kind: 'acknowledge', by: 'AB', alarm: verdict.id });
    }
  }
  const load = drive.picture.alarmLoad!;
  return {
    scenario,
    hours,
    byPriority: load.byPriority,
    worstHour: load.worstHour,
    chattering: load.chattering.length,
    flagged: [...flagged.values()],
  };
}

function enter(drive: Drive, entry: Entry): void {
  drive.watch.enter(entry, drive.simulation.nowMs + 950);
}

/** What a crew tells the gateway when it does this; null: it is no order. */
function orderOf({ what, at, size }: Deed): Entry | null {
  if (what === 'gate') return { kind: 'gate', by: 'AB', gate: at!, opening: size! };
  if (what === 'refuel') return { kind: 'mode', by: 'AB', mode: 'refuelling', minutes: REFUEL_MIN };
  if (what === 'throttle' && size === 0) return { kind: 'mode', by: 'AB', mode: 'draining', minutes: REFUEL_MIN };
  return null;
}

export function sharesOf(counts: AlarmLoad['byPriority']): {
  readonly all: number;
  readonly shares: readonly number[];
} {
  const steps = [counts.low, counts.medium, counts.high + counts.people];
  const all = steps.reduce((sum, count) => sum + count, 0);
  return { all, shares: steps.map((count) => (all === 0 ? 0 : count / all)) };
}

export function sumOf(rows: readonly Pick<Distribution, 'byPriority'>[]): AlarmLoad['byPriority'] {
  const total = (priority: Priority): number => rows.reduce((sum, { byPriority }) => sum + byPriority[priority], 0);
  return { people: total('people'), high: total('high'), medium: total('medium'), low: total('low') };
}

export function prioritiesText(rows: readonly Distribution[], withAlarms: boolean): string {
  const share = (part: number): string => `${Math.round(100 * part)} %`.padStart(6);
  const line = (name: string, counts: AlarmLoad['byPriority'], rest: string): string => {
    const { all, shares } = sharesOf(counts);
    return (
      `${name.padEnd(22)}${String(all).padStart(5)}${shares.map(share).join('')}${String(counts.people).padStart(8)} ` +
      ` ${rest}`
    );
  };
  const aims = `${'aimed at'.padEnd(27)}${[PRIORITY_SHARES.low, PRIORITY_SHARES.medium, PRIORITY_SHARES.high].map(share).join('')}`;
  return [
    `${'scenario'.padEnd(22)} told   low   med  high  people  worst hour, chattering`,
    ...rows.flatMap((row) => [
      line(row.scenario, row.byPriority, `${row.worstHour}, ${row.chattering}`),
      ...(withAlarms ? row.flagged.map((words) => `    ${words}`) : []),
    ]),
    line('all', sumOf(rows), ''),
    aims,
    '',
  ].join('\n');
}
