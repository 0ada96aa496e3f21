/**
 * The proof of repairs as text: by kind of trouble, how often its own words were kept while it ended, and what was
 * flagged because it ended.
 *
 * In: outcomes. Out: lines of text. The bar: name and place kept in 99 %, nothing new within a minute.
 */
import { wilson } from './figures.ts';
import type { RepairOutcome } from './repair-trial.ts';

const WIDTHS = [26, 8, 8, 12, 12, 8, 8, 10, 8];
const HEAD = ['kind', 'repairs', 'unsaid', 'name, place', '+ priority', '+ size', 'new', 'median s', 'stands'];

function line(cells: readonly string[]): string {
  return cells.map((cell, index) => (index === 0 ? cell.padEnd(WIDTHS[0]!) : cell.padStart(WIDTHS[index]!))).join(' ');
}

const isCase = ({ told }: RepairOutcome): boolean => told.length > 0;
export const isKept = ({ changed }: RepairOutcome): boolean => !changed.includes('name') && !changed.includes('place');

function row(name: string, outcomes: readonly RepairOutcome[]): string {
  const cases = outcomes.filter(isCase);
  const share = (count: number): string => (cases.length === 0 ? '-' : (count / cases.length).toFixed(3));
  const kept = cases.filter(isKept);
  const urgent = kept.filter(({ changed }) => !changed.includes('priority'));
  const ended = cases.flatMap(({ endedS }) => (endedS === null ? [] : [endedS])).sort((a, b) => a - b);
  return line([
    name,
    String(cases.length),
    String(outcomes.length - cases.length),
    share(kept.length),
    share(urgent.length),
    share(urgent.filter(({ changed }) => !changed.includes('size')).length),
    String(cases.reduce((sum, { flagged }) => sum + flagged.length, 0)),
    ended.length === 0 ? '-' : String(ended[Math.floor(ended.length / 2)]!),
    String(cases.length - ended.length),
  ]);
}

export function repairsText(outcomes: readonly RepairOutcome[]): string {
  const kinds = [...new Set(outcomes.map(({ plan }) => plan.className))].sort();
  const cases = outcomes.filter(isCase);
  const kept = cases.filter(isKept).length;
  const [low, high] = wilson(kept / Math.max(1, cases.length), cases.length);
  const misses = cases.filter((outcome) => outcome.changed.length > 0 || outcome.flagged.length > 0);
  return [
    line(HEAD),
    '-'.repeat(WIDTHS.reduce((sum, width) => sum + width + 1, -1)),
    ...kinds.map((kind) =>
      row(
        kind,
        outcomes.filter(({ plan }) => plan.className === kind),
      ),
    ),
    row('all', outcomes),
    `Own name and place kept in ${kept} of ${cases.length} repairs (${(100 * low).toFixed(1)} to ` +
      `${(100 * high).toFixed(1)} % with 95 %; bar 99 %).`,
    'Columns: unsaid, no alarm stood and nothing could be kept; new, flagged until a minute after the repair (bar 0);',
    'median s, from its end until nothing stood; stands, not over two minutes after it.',
    ...(misses.length === 0 ? [] : ['Words that changed, and new alarms:']),
    ...misses.map(
      ({ plan, truth, told, changed, flagged }) =>
        `  --seed ${plan.seed}  ${plan.className} (${truth.join(', ')}), ${plan.site}, over ` +
        `${plan.overS} s, told '${told.join(', ')}': ` +
        `${[...changed, ...flagged.map((one) => `new: ${one}`)].join(', ')}`,
    ),
  ].join('\n');
}
