/**
 * The scorecard as text: the table with its aims, the stated probabilities against what was right, false alarms.
 *
 * In: rows, whole figures. Out: lines of text. A figure is followed by its aim; `*` marks one that misses it by more
 * than the luck of so few runs explains (Wilson, 95 %), `-` one that misses it within that luck, `!` a delay that
 * nobody could have kept with these sensors: the median of its bounds (soonest.ts) is above the aim too.
 */
import { STANDS_OUT_SD } from './bound.ts';
import { wilson, type LifeRow, type Row, type Whole } from './figures.ts';
import type { Outcome } from './trial.ts';

const COLUMNS = [
  'class',
  'runs',
  'recall',
  'right line',
  'cause first',
  'kin',
  'in set',
  'set/bound',
  'size err',
  'median s',
  'bound s',
  '90 % s',
  'extra',
] as const;
const WIDTHS = [24, 5, 13, 13, 13, 6, 7, 9, 9, 12, 7, 7, 6];

function line(cells: readonly string[]): string {
  return cells.map((cell, index) => (index === 0 ? cell.padEnd(WIDTHS[0]!) : cell.padStart(WIDTHS[index]!))).join(' ');
}

function share(value: number | null): string {
  return value === null ? '' : value.toFixed(2);
}

function against(value: number | null, aim: number | null | undefined, count: number): string {
  if (value === null) return '';
  if (aim === null || aim === undefined) return value.toFixed(2);
  const missed = value >= aim ? ' ' : wilson(value, count)[1] < aim ? '*' : '-';
  return `${value.toFixed(2)}${missed}(${aim.toFixed(2)})`;
}

function rowText(row: Row): string {
  const { aim } = row;
  const heard = Math.round(row.recall * row.runs);
  const late =
    aim && row.delayS !== null
      ? `${row.delayS <= aim.delayS ? ' ' : (row.boundS ?? 0) > aim.delayS ? '!' : '*'}(${aim.delayS})`
      : '';
  return line([
    row.name,
    String(row.runs),
    against(row.recall, aim?.recall, row.runs),
    against(row.line, aim?.line, heard),
    against(row.cause, aim?.cause, heard),
    share(row.kin),
    share(row.inSet),
    row.setSize === null ? '' : `${row.setSize}/${row.boundSize ?? '?'}`,
    row.sizeError === null ? '' : `${(100 * row.sizeError).toFixed(0)} %`,
    row.delayS === null ? '' : `${row.delayS}${late}`,
    row.boundS === null ? '' : String(row.boundS),
    row.delay90S === null ? '' : String(row.delay90S),
    row.extra.toFixed(2),
  ]);
}

export function tableText(title: string, rows: readonly Row[]): string {
  const unseen = rows.filter((row) => row.unseen !== null);
  return [
    title,
    line(COLUMNS),
    '-'.repeat(WIDTHS.reduce((sum, width) => sum + width + 1, -1)),
    ...rows.filter((row) => row.unseen === null).map(rowText),
    ...(unseen.length > 0
      ? ['Cannot be seen here:', ...unseen.flatMap((row) => [rowText(row), `  ${row.unseen}`])]
      : []),
  ].join('\n');
}

export function wholeText(whole: Whole): string {
  const bins = whole.reliability.map(
    ({ from, to, count, stated, right }) =>
      `  ${from.toFixed(2)}-${to.toFixed(2)}  ${String(count).padStart(4)} verdicts  said ` +
      `${stated.toFixed(2)}  right ${right.toFixed(2)}`,
  );
  return [
    'Stated probability of the settled verdict against cause and line both right:',
    ...bins,
    `  Brier score ${whole.brier?.toFixed(3) ?? '-'} (0 is perfect, 0.25 is a coin)`,
    `True place in the named 90 % set: ${share(whole.coverage)} (aim 0.88-0.93); sets ` +
      `${whole.setOverBound?.toFixed(2) ?? '-'} times the least that the sensors allow (aim 1.3 at most)`,
    `False alarms: ${whole.falseAlarms} in ${whole.siteDays.toFixed(2)} site-days of normal life: ` +
      `${whole.perSiteDay.toFixed(2)} a site-day, below ${whole.perSiteDayHigh.toFixed(2)} with 95 % ` +
      '(aim 0.03)',
    ...whole.life.filter(({ times, falseAlarms }) => times + falseAlarms.length > 0).flatMap(lifeText),
    `Baselines refused of a healthy lay: ${whole.baselinesRefused}`,
    `Alarms an hour at the worst: ${whole.worstAnHour.toFixed(1)}`,
  ].join('\n');
}

/** A line for the chore, then one for each false alarm that came within five minutes of it. */
function lifeText({ kind, times, falseAlarms }: LifeRow): string[] {
  const words = kind === 'nothing' ? 'long after any' : `${kind}, ${times} steps`;
  return [
    `  ${words.padEnd(32)} ${String(falseAlarms.length).padStart(3)} false`,
    ...falseAlarms.map(
      (one) =>
        `    ${one.cause} on ${one.subject}, p=${one.probability.toFixed(2)}: ` +
        `${one.words || 'nothing before it'} (--seed ` +
        `${one.plan.seed}${one.plan.quietS === null ? '' : ` --quiet ${one.plan.quietS / 3_600}`}, ` +
        `${one.atS} s)`,
    ),
  ];
}

/** One line for each run that went wrong, to be played again by its seed. */
export function missesText(outcomes: readonly Outcome[]): string {
  const lines = outcomes.flatMap(
    ({ plan, truth, alarmS, standsOut, pumpUnheard, causeRight, lineRight, settled, falseAlarms, extraAlarms }) => {
      const faulty = truth.length > 0;
      const wrong =
        faulty && alarmS === null
          ? `missed${standsOut === null ? '' : ` (moves the readings by ${standsOut.toFixed(1)} of their noise; ${STANDS_OUT_SD.toFixed(1)} are the least that could win)`}${pumpUnheard > 0.5 ? `, its pump not heard for ${(100 * pumpUnheard).toFixed(0)} % of the time` : ''}`
          : faulty && !(causeRight && lineRight)
            ? `said ${settled}`
            : falseAlarms.length > 0
              ? 'false alarm'
              : null;
      if (wrong === null) return [];
      const others = [
        ...falseAlarms.map(({ cause, subject, atS }) => `false ${cause} ${subject} at ${atS} s`),
        ...extraAlarms,
      ].slice(0, 3);
      const how = `${plan.cadence === 'fast' ? '1 Hz' : 'slow'}${plan.calibrated ? '' : ', not calibrated'}`;
      return [
        `  --seed ${plan.seed}  ${plan.className} (${truth.join(', ')}), ${plan.site}, ${how}: ` +
          `${wrong}${others.length > 0 ? `; also ${others.join(', ')}` : ''}`,
      ];
    },
  );
  return ['Missed, misnamed or falsely alarmed:', ...lines].join('\n');
}
