/**
 * A cause at a fitted size, as it stands in the competition of causes, and what a set of them does to the network.
 *
 * Out: log of the Occam factor of a size (Laplace; MacKay, Information Theory, Inference and Learning Algorithms,
 * chapter 28); the changes to the solver's settings.
 */
import type { Hypothesis } from '../causes/hypothesis.ts';
import type { Change } from '../model/expectation.ts';

export interface Candidate {
  readonly hypothesis: Hypothesis;
  readonly size: number;
  /** Relative standard deviation of the size. */
  readonly sizeSd: number;
  /** Log of prior x likelihood. */
  readonly score: number;
}

export interface Found {
  /** Best first, with posterior probability given the other causes found. */
  readonly rivals: readonly (Candidate & { readonly probability: number })[];
  readonly best: Candidate;
  readonly unexplained: number;
}

/** Log of (width of the size's posterior / width of its prior, log-uniform), never above zero. */
export function occamFactor({ hypothesis: { size }, sizeSd }: Pick<Candidate, 'hypothesis' | 'sizeSd'>): number {
  if (size.fixed) return 0;
  const width = Math.log(size.high / size.low);
  return Math.min(0, Math.log((Math.sqrt(2 * Math.PI) * sizeSd) / width));
}

/** What a set of causes changes in the network. */
export function changesOf(set: readonly Pick<Candidate, 'hypothesis' | 'size'>[]): Change[] {
  return set.flatMap(({ hypothesis, size }) => {
    const { effect } = hypothesis;
    return effect.kind === 'network' ? [(settings: Parameters<Change>[0]) => effect.apply(settings, size)] : [];
  });
}

/** The relative standard deviation with which the kit says how large its causes are: the widest of the set. */
export function widestSpread(set: readonly Pick<Candidate, 'hypothesis'>[]): number {
  return Math.max(0, ...set.map(({ hypothesis: { size } }) => (size.fixed ? size.spread : 0)));
}
