/**
 * The findings of the lay that are told now, and how they go on from judgement to judgement.
 *
 * In: what each judgement named, the residuals it rests on, what people explained. Out: findings that keep one key
 * while their name sharpens (finding-tracker.ts), whose places and size do not waver (steady-words.ts), without what
 * hoses do for some seconds after a trouble ended (transients.ts), and that end as gauges come back (ending.ts).
 * Missing data never clears a finding.
 */
import { keyOf } from '../causes/hypothesis.ts';
import type { Gauge } from '../model/gauge.ts';
import type { GaugeHistory, SegmentMean } from '../residuals/gauge-history.ts';
import type { ResidualEvidence } from '../residuals/residual-evidence.ts';
import type { Candidate } from './candidate.ts';
import { Ending } from './ending.ts';
import { FindingTracker } from './finding-tracker.ts';
import type { Finding } from './finding.ts';
import { SteadyWords } from './steady-words.ts';
import { Transients } from './transients.ts';

/** One judgement, as far as telling it needs. */
export interface Judgement {
  readonly atMs: number;
  readonly trusted: readonly boolean[];
  readonly segment: SegmentMean;
  readonly evidence: ResidualEvidence;
  /** Covariance of one reading of every gauge. */
  readonly readingNoise: Float64Array;
  /** Somebody has looked since the last one. */
  readonly inspected: boolean;
  /** What each of several causes makes of the gauges by itself. */
  readonly shifts: () => readonly Float64Array[];
}

export class ActiveFindings {
  readonly #gauges: readonly Gauge[];
  readonly #tracker = new FindingTracker();
  readonly #ending = new Ending();
  readonly #words = new SteadyWords();
  readonly #transients = new Transients();
  #told: readonly Finding[] = [];

  constructor(gauges: readonly Gauge[]) {
    this.#gauges = gauges;
  }

  get told(): readonly Finding[] {
    return this.#told;
  }

  /** Keys that have stood for a while. */
  stood(nowMs: number): ReadonlySet<string> {
    return this.#tracker.stood(nowMs);
  }

  /** It is told now, under this name. */
  isActive({ hypothesis: { cause, subject } }: Candidate): boolean {
    return this.#tracker.stands(keyOf(cause, subject));
  }

  isKnown({ hypothesis: { cause, subject } }: Candidate): boolean {
    return this.#tracker.has(keyOf(cause, subject));
  }

  /** What is normal has changed: nothing is ending, for nothing stood against it. */
  restart(): void {
    this.#ending.clear();
  }

  /** People explained what began since `fromMs`, but for these keys. */
  forget(fromMs: number, but: readonly string[]): void {
    this.#told = this.#told.filter(({ sinceMs, key }) => sinceMs < fromMs || but.includes(key));
    this.#tracker.forget(fromMs);
  }

  /** The pump moves: what was named just before was named of a pump that moved. Out: the keys that go. */
  withdraw(nowMs: number): ReadonlySet<string> {
    const gone = this.#tracker.withdraw(nowMs);
    this.#told = this.#told.filter(({ cause, subject }) => !gone.has(keyOf(cause, subject)));
    return gone;
  }

  /**
   * One frame, after its residuals were filed. Out: whether what stands recedes, and from when on gauges rest at what
   * is left of it; null: they do not.
   */
  ending(
    history: GaugeHistory,
    atMs: number,
    readingNoise: Float64Array,
    trusted: readonly boolean[],
  ): { readonly recedes: boolean; readonly restMs: number | null } {
    const phase = this.#ending.observe(history, atMs, readingNoise, trusted);
    return { recedes: phase === 'recedes', restMs: phase === 'rests' ? this.#ending.restMs : null };
  }

  /** What is found lies the other way round from what stood: what passed for right had a part of it. */
  isOpposite(evidence: ResidualEvidence, atMs: number): boolean {
    return this.#ending.isOpposite(evidence, atMs);
  }

  /** Gauges have hardly come to rest: what is named now may be what a lay does on its way back. */
  withholds(named: readonly Finding[], atMs: number): boolean {
    return this.#ending.withholds(named, this.#told, atMs);
  }

  tell(named: readonly Finding[], judgement: Judgement): void {
    const { atMs, segment, evidence, readingNoise, inspected } = judgement;
    const weaker = this.#ending.isWeaker(segment, readingNoise, atMs);
    const telling = { weaker, looked: inspected, stood: this.stood(atMs), atMs };
    const words = this.#words.of(named, this.#told, telling);
    const tracked = this.#tracker.follow(words, segment.startMs, atMs, !weaker);
    this.#told = [
      ...this.#transients.without(tracked, this.#told, atMs),
      ...this.#ofUnheardGauges(named, judgement.trusted),
    ];
    if (named.length === 0) this.#ending.over(atMs);
    else if (!weaker) this.#ending.stands(evidence, segment, judgement.shifts(), atMs);
  }

  /** Earlier findings that rest on a gauge which has fallen silent or stuck. */
  #ofUnheardGauges(named: readonly Finding[], trusted: readonly boolean[]): Finding[] {
    const subjects = new Set(named.map(({ subject }) => subject));
    return this.#told.filter(({ evidence, subject }) => {
      const gauge = this.#gauges.findIndex(({ sensor }) => sensor.id === evidence[0]?.channel);
      return gauge >= 0 && !trusted[gauge] && !subjects.has(subject);
    });
  }
}
