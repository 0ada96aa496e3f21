/**
 * The scorecard's figures from its runs: one row a class, and what holds over all runs.
 *
 * In: outcomes. Out: shares (0..1, null where nothing was asked), seconds, counts. A share's Wilson interval (95 %)
 * says how much of it is luck. False alarms are counted by site-day of time in which nothing was wrong; with none
 * heard, the upper bound is -ln(0.05) over that time (Poisson).
 */
import { CLASSES } from './classes.ts';
import type { Aim } from './fault-class.ts';
import { CHORES, type ChoreKind } from './normal-life.ts';
import type { FalseAlarm, Outcome, Plan } from './trial.ts';

export interface Row {
  readonly name: string;
  readonly aim: Aim | null;
  readonly unseen: string | null;
  readonly runs: number;
  readonly recall: number;
  readonly line: number | null;
  readonly cause: number | null;
  readonly kin: number | null;
  readonly inSet: number | null;
  /** Medians: of the named set, and of the least that the sensors allow. */
  readonly setSize: number | null;
  readonly boundSize: number | null;
  readonly sizeError: number | null;
  readonly delayS: number | null;
  readonly delay90S: number | null;
  /** Median of the soonest that anybody could have seen them, over the runs of the delay. */
  readonly boundS: number | null;
  readonly extra: number;
}

interface Reliability {
  readonly from: number;
  readonly to: number;
  readonly count: number;
  readonly stated: number;
  readonly right: number;
}

/** One sort of chore: how often it was done, and what was flagged after it. */
export interface LifeRow {
  readonly kind: ChoreKind | 'nothing';
  readonly times: number;
  readonly falseAlarms: readonly (FalseAlarm & { readonly plan: Plan })[];
}

export interface Whole {
  readonly brier: number | null;
  readonly reliability: readonly Reliability[];
  readonly siteDays: number;
  readonly falseAlarms: number;
  readonly perSiteDay: number;
  readonly perSiteDayHigh: number;
  readonly life: readonly LifeRow[];
  readonly baselinesRefused: number;
  readonly worstAnHour: number;
  readonly coverage: number | null;
  /** Named sets over the least possible, summed over runs of the aims' conditions. */
  readonly setOverBound: number | null;
}

export function quantile(values: readonly number[], share: number): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))]!;
}

function shareOf(items: readonly Outcome[], holds: (outcome: Outcome) => boolean): number | null {
  return items.length === 0 ? null : items.filter(holds).length / items.length;
}

export function wilson(share: number, count: number): readonly [number, number] {
  const z = 1.96;
  const middle = (share + z ** 2 / (2 * count)) / (1 + z ** 2 / count);
  const half = (z / (1 + z ** 2 / count)) * Math.sqrt((share * (1 - share)) / count + z ** 2 / (4 * count ** 2));
  return [Math.max(0, middle - half), Math.min(1, middle + half)];
}

export function rowsOf(outcomes: readonly Outcome[]): Row[] {
  return CLASSES.filter(({ name }) => name !== 'nothing wrong').flatMap((kind) => {
    const runs = outcomes.filter(({ plan }) => plan.className === kind.name);
    if (runs.length === 0) return [];
    const heard = runs.filter(({ alarmS }) => alarmS !== null);
    const placed = heard.filter(({ inSet }) => inSet !== null);
    const named = runs.filter(({ namedS }) => namedS !== null);
    const delays = named.map(({ namedS }) => namedS!);
    return [
      {
        name: kind.name,
        aim: kind.aim,
        unseen: kind.unseen ?? null,
        runs: runs.length,
        recall: heard.length / runs.length,
        line: shareOf(heard, ({ lineRight }) => lineRight),
        cause: shareOf(heard, ({ causeRight }) => causeRight),
        kin: shareOf(heard, ({ kinRight }) => kinRight),
        inSet: shareOf(placed, ({ inSet }) => inSet === true),
        setSize: quantile(
          placed.map(({ setSize }) => setSize ?? 0),
          0.5,
        ),
        boundSize: quantile(
          placed.flatMap(({ boundSize }) => (boundSize === null ? [] : [boundSize])),
          0.5,
        ),
        sizeError: quantile(
          heard.flatMap(({ sizeError }) => (sizeError === null ? [] : [Math.abs(sizeError)])),
          0.5,
        ),
        delayS: quantile(delays, 0.5),
        delay90S: quantile(delays, 0.9),
        boundS: quantile(
          named.flatMap(({ boundS }) => (boundS === null ? [] : [boundS])),
          0.5,
        ),
        extra: runs.reduce((sum, { extraAlarms }) => sum + extraAlarms.length, 0) / runs.length,
      },
    ];
  });
}

function overBound(outcomes: readonly Outcome[]): number | null {
  const own = outcomes.filter(
    ({ boundSize, setSize, lineRight }) => boundSize !== null && setSize !== null && lineRight,
  );
  const sum = (of: (outcome: Outcome) => number): number => own.reduce((total, outcome) => total + of(outcome), 0);
  return own.length === 0 ? null : sum(({ setSize }) => setSize!) / sum(({ boundSize }) => boundSize!);
}

const BINS = [0, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.99, 1.001];
const DAY_S = 86_400;

export function wholeOf(outcomes: readonly Outcome[]): Whole {
  const stated = outcomes.flatMap(({ stated, causeRight, lineRight }) =>
    stated === null ? [] : [{ stated, right: causeRight && lineRight ? 1 : 0 }],
  );
  const reliability = BINS.slice(1).flatMap((to, index) => {
    const own = stated.filter((one) => one.stated >= BINS[index]! && one.stated < to);
    const mean = (of: (one: (typeof own)[number]) => number): number =>
      own.reduce((sum, one) => sum + of(one), 0) / own.length;
    return own.length === 0
      ? []
      : [
          {
            from: BINS[index]!,
            to: Math.min(1, to),
            count: own.length,
            stated: mean((one) => one.stated),
            right: mean((one) => one.right),
          },
        ];
  });
  const siteDays = outcomes.reduce((sum, { quietS }) => sum + quietS, 0) / DAY_S;
  const wrong = outcomes.flatMap(({ plan, falseAlarms }) => falseAlarms.map((one) => ({ ...one, plan })));
  const chores = outcomes.flatMap((one) => one.chores);
  const placed = outcomes.filter(({ inSet }) => inSet !== null);
  return {
    brier:
      stated.length === 0 ? null : stated.reduce((sum, one) => sum + (one.stated - one.right) ** 2, 0) / stated.length,
    reliability,
    siteDays,
    falseAlarms: wrong.length,
    perSiteDay: wrong.length / siteDays,
    // Normal approximation of the Poisson upper bound, exact for none.
    perSiteDayHigh:
      (wrong.length === 0 ? -Math.log(0.05) : wrong.length + 1.645 * Math.sqrt(wrong.length) + 1.35) / siteDays,
    life: [...CHORES, 'nothing' as const].map((kind) => ({
      kind,
      times: chores.filter((one) => one === kind).length,
      falseAlarms: wrong.filter(({ after }) => after === kind),
    })),
    baselinesRefused: outcomes.filter(({ baselineRefused }) => baselineRefused).length,
    worstAnHour: Math.max(
      0,
      ...outcomes.map(({ alarmsRaised, watchedS }) => (alarmsRaised * 3_600) / Math.max(3_600, watchedS)),
    ),
    setOverBound: overBound(outcomes),
    coverage: shareOf(placed, ({ inSet }) => inSet === true),
  };
}
