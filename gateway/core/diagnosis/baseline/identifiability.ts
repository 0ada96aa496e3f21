/**
 * What a baseline pinned down and what it could not, as lists in words.
 *
 * In: the parameter estimate before and after. Parameters are looked at in groups that a crew can name (heads of a
 * line, its hose, the trunk, a gauge's offset, a pump): the mean factor w' theta with variance w' P w. A group counts
 * as pinned down when its standard deviation fell by a third or more. Two groups look alike when the readings made
 * what is left of their doubt move together (a correlation beyond ALIKE that the kit does not give).
 */
import {
  headAt,
  offsetAt,
  pipeAt,
  riseFactorAt,
  suctionFactorAt,
  type ParameterEstimate,
} from '../model/parameter-estimate.ts';
import type { Expectation } from '../model/expectation.ts';

export interface Learned {
  /** One sentence a group that the readings pinned down. */
  readonly learned: readonly string[];
  /** One sentence for each set of things that these sensors cannot tell apart. */
  readonly alike: readonly string[];
}

interface Group {
  readonly name: string;
  readonly unit: 'share' | 'offset';
  readonly at: readonly number[];
  /** Made of other groups. */
  readonly sum?: true;
}

/** Judgement. */
const LEARNED_SHARE = 0.67;
const ALIKE = 0.4;

export function learnedFrom(expectation: Expectation, prior: ParameterEstimate, posterior: ParameterEstimate): Learned {
  const groups = groupsOf(expectation, prior);
  const learned = groups.filter(
    (group) =>
      group.unit === 'share' && spread(posterior, group, group) < LEARNED_SHARE ** 2 * spread(prior, group, group),
  );
  return {
    learned: learned.map((group) => sentence(group, prior, posterior)),
    alike: alikeSets(groups, prior, posterior),
  };
}

function groupsOf({ layout, network, gauges }: Expectation, belief: ParameterEstimate): Group[] {
  const headsOf = (line: string): number[] =>
    layout.heads.flatMap((head, index) => (head.line === line ? [headAt(index)] : []));
  const hosesOf = (line: string | null): number[] =>
    layout.hoses.filter((hose) => hose.line === line).map((hose) => pipeAt(belief, network.pipeOfHose.get(hose.id)!));
  const groups: Group[] = layout.lines.flatMap((line): Group[] => [
    { name: `discharge of the heads of ${line.label}`, unit: 'share', at: headsOf(line.id) },
    { name: `friction in the hose of ${line.label}`, unit: 'share', at: hosesOf(line.id) },
  ]);
  groups.push(
    {
      name: 'discharge of all heads together',
      unit: 'share',
      at: layout.heads.map((_, index) => headAt(index)),
      sum: true,
    },
    { name: 'friction in the trunk', unit: 'share', at: hosesOf(null) },
  );
  gauges.forEach((gauge, index) =>
    groups.push({ name: gauge.sensor.label, unit: 'offset', at: [offsetAt(belief, index)] }),
  );
  layout.pumps.forEach((pump, index) =>
    groups.push(
      { name: `pressure rise of ${pump.label}`, unit: 'share', at: [riseFactorAt(belief, index)] },
      { name: `suction losses of ${pump.label}`, unit: 'share', at: [suctionFactorAt(belief, index)] },
    ),
  );
  return groups.filter((group) => group.at.length > 0);
}

/** Covariance of the means of two groups. */
function spread({ covariance, size }: ParameterEstimate, a: Group, b: Group): number {
  let sum = 0;
  for (const i of a.at) for (const j of b.at) sum += covariance[i * size + j]!;
  return sum / (a.at.length * b.at.length);
}

function sentence(group: Group, prior: ParameterEstimate, posterior: ParameterEstimate): string {
  const mean = (belief: ParameterEstimate): number =>
    group.at.reduce((sum, at) => sum + belief.mean[at]!, 0) / group.at.length;
  const percent = (share: number): string => `${(100 * share).toFixed(Math.abs(share) < 0.0995 ? 1 : 0)} %`;
  const change = mean(posterior) / mean(prior) - 1;
  const sd = (belief: ParameterEstimate): string => percent(2 * Math.sqrt(spread(belief, group, group)));
  const moved =
    Math.abs(change) < 0.0005
      ? 'as the kit says'
      : `${percent(Math.abs(change))} ${change > 0 ? 'more' : 'less'} than the kit says`;
  return `The ${group.name}: ${moved}, within ${sd(posterior)} (the kit alone: ${sd(prior)}).`;
}

function listed(set: readonly Group[]): string {
  const offsets = set.filter(({ unit }) => unit === 'offset').map(({ name }) => name);
  const others = set.filter(({ unit }) => unit === 'share').map(({ name }) => `the ${name}`);
  return [...others, ...(offsets.length > 0 ? [`an offset or another height of ${offsets.join(', ')}`] : [])].join(
    '; ',
  );
}

/** Groups joined by strong correlation of what is left, a set a sentence. */
function alikeSets(groups: readonly Group[], prior: ParameterEstimate, posterior: ParameterEstimate): string[] {
  const open = groups.filter(
    (group) => !group.sum && spread(posterior, group, group) > 0.1 * spread(prior, group, group),
  );
  const correlation = (belief: ParameterEstimate, a: Group, b: Group): number =>
    spread(belief, a, b) / Math.sqrt(spread(belief, a, a) * spread(belief, b, b));
  const correlated = (a: Group, b: Group): boolean =>
    Math.abs(correlation(posterior, a, b) - correlation(prior, a, b)) > ALIKE;
  const left = new Set(open);
  const sets: string[] = [];
  for (const group of open) {
    if (!left.delete(group)) continue;
    const set = [group];
    for (const member of set)
      for (const other of [...left])
        if (correlated(member, other)) {
          left.delete(other);
          set.push(other);
        }
    if (set.length > 1) sets.push(`These look alike to the sensors there are: ${listed(set)}.`);
  }
  return [...sets, 'Of heads on one line only the sum is known, never which one is worn.'];
}
