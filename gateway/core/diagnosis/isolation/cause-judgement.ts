/**
 * Judges what is wrong with the lay: when a judgement is due, which causes it believes, and what is told of them.
 *
 * In: every frame of a steady lay whose residuals are filed, with what people, shocks and orders say beside the gauges.
 * Out: causes believed, findings, gates that were ordered to move and are seen to have moved. A judgement whose answer
 * has settled is made seldom: each costs some 20 ms.
 */
import { findingOf, type Finding } from './finding.ts';
import { keyOf } from '../causes/hypothesis.ts';
import type { Expectation } from '../model/expectation.ts';
import type { LocalModel } from '../model/local-model.ts';
import { mostFlowM3s } from '../model/pump-limit.ts';
import type { SegmentMean } from '../residuals/gauge-history.ts';
import type { FrameReadings, LayResiduals } from '../residuals/lay-residuals.ts';
import { ActiveFindings } from './active-findings.ts';
import type { Candidate, Found } from './candidate.ts';
import type { CauseIsolation } from './cause-isolation.ts';
import { outflowOf, shownEvidence } from './grounds.ts';
import type { Circumstances, IsolationEvidence } from './isolation-evidence.ts';
import { bestQuestion } from './next-check.ts';
import { predictedShift } from './predicted-shift.ts';

/** Once the same causes have won so often in one segment, judge again only after 5 s, and a second later each time. */
const SETTLED_JUDGEMENTS = 4;
const REJUDGE_MS = 5_000;
const REJUDGE_MOST_MS = 20_000;
/** Judgement: so long after a pump's step lines may still be on their way. */
const FOLLOWS_MS = 8_000;

export interface JudgedFrame extends FrameReadings, Circumstances {}

/** The last judgement: in which segment, what it named, and how often in a row it has named the same since. */
interface LastJudgement {
  readonly atMs: number;
  readonly segmentMs: number;
  readonly names: string;
  readonly repeats: number;
}

export class CauseJudgement {
  readonly #expectation: Expectation;
  readonly #isolation: CauseIsolation;
  readonly #residuals: LayResiduals;
  readonly #findings: ActiveFindings;
  #believed: readonly Candidate[] = [];
  #movedGates: readonly number[] = [];
  #last: LastJudgement = { atMs: 0, segmentMs: -1, names: '', repeats: 0 };

  constructor(expectation: Expectation, isolation: CauseIsolation, residuals: LayResiduals) {
    this.#expectation = expectation;
    this.#isolation = isolation;
    this.#residuals = residuals;
    this.#findings = new ActiveFindings(expectation.gauges);
  }

  get findings(): readonly Finding[] {
    return this.#findings.told;
  }

  get believed(): readonly Candidate[] {
    return this.#believed;
  }

  /** Gates whose ordered move the judgement of this frame saw. */
  get movedGates(): readonly number[] {
    return this.#movedGates;
  }

  /** Something is wrong, or was told to be. */
  get stands(): boolean {
    return this.#believed.length > 0 || this.findings.length > 0;
  }

  /** Nothing is expected of the lay. What was found is told until it is judged again. */
  rest(): void {
    this.#believed = [];
  }

  /** What is normal has changed. */
  restart(): void {
    this.#findings.restart();
  }

  forget(fromMs: number, but: readonly string[]): void {
    this.#findings.forget(fromMs, but);
    this.#believed = this.#believed.filter((one) => this.#findings.isKnown(one));
  }

  /** Before a frame is judged. `throttled`: the pump moves, and what was named just before was named of that. */
  startFrame(atMs: number, throttled: boolean): void {
    this.#movedGates = [];
    if (!throttled) return;
    const gone = this.#findings.withdraw(atMs);
    this.#believed = this.#believed.filter(({ hypothesis: { cause, subject } }) => !gone.has(keyOf(cause, subject)));
  }

  /** While a trouble recedes nothing is judged; what is left of it is judged on readings at rest only. */
  isReceding({ atMs, trusted }: FrameReadings, { readingNoise }: LocalModel): boolean {
    const { recedes, restMs } = this.#findings.ending(this.#residuals.history, atMs, readingNoise, trusted);
    if (restMs !== null) this.#residuals.history.startNoEarlier(restMs);
    return recedes;
  }

  judge(frame: JudgedFrame, model: LocalModel): void {
    const { atMs } = frame;
    const segment = this.#residuals.segmentToJudge(frame, model);
    if (!segment) return;
    const inspected = frame.looks.some((look) => look.atMs > this.#last.atMs);
    if (!inspected && this.#isSettled(segment, atMs)) return;
    const { found, evidence } = this.#isolated(this.#evidence(frame, segment, model), atMs);
    this.#movedGates = found.flatMap(({ best }) => best.hypothesis.moves ?? []);
    const causes = this.#withoutFollowers(withoutMoves(found), atMs - segment.startMs);
    const named = causes.map((one) => this.#findingOf(one, causes, segment.startMs, evidence));
    if (this.#findings.withholds(named, atMs)) return;
    this.#remember(causes, segment, atMs);
    this.#findings.tell(named, {
      atMs,
      trusted: frame.trusted,
      segment,
      evidence,
      readingNoise: model.readingNoise,
      inspected,
      shifts: () => this.#shiftOfEach(evidence),
    });
  }

  #isSettled({ startMs }: SegmentMean, nowMs: number): boolean {
    const { atMs, segmentMs, repeats } = this.#last;
    if (startMs !== segmentMs || repeats < SETTLED_JUDGEMENTS) return false;
    return nowMs < atMs + Math.min(REJUDGE_MOST_MS, REJUDGE_MS + 1_000 * (repeats - SETTLED_JUDGEMENTS));
  }

  /** Against what was right a moment ago, if there is such a thing, and last against the model. */
  #evidence(frame: JudgedFrame, segment: SegmentMean, model: LocalModel): readonly IsolationEvidence[] {
    const known = {
      looks: frame.looks,
      hurt: frame.hurt,
      ordered: frame.ordered,
      shapes: this.#residuals.shapes(frame.atMs),
      stood: this.#findings.stood(frame.atMs),
      mostM3s: mostFlowM3s(this.#expectation, model.belief, model.boundary),
    };
    return this.#residuals.evidence(segment, model, frame.atMs).map((evidence) => ({ ...evidence, ...known }));
  }

  /** The causes of the first evidence that has any, and that evidence. */
  #isolated(
    evidences: readonly IsolationEvidence[],
    atMs: number,
  ): { readonly found: readonly Found[]; readonly evidence: IsolationEvidence } {
    const againstModel = evidences.at(-1)!;
    for (const evidence of evidences) {
      const found = this.#isolation.judge(evidence, this.#believed);
      if (evidence === againstModel) return { found, evidence };
      if (found.length === 0) continue;
      if (this.#findings.isOpposite(evidence, atMs) && this.#nothingIn(againstModel)) {
        this.#residuals.forgetReference();
        return { found: [], evidence };
      }
      return { found, evidence };
    }
    return { found: [], evidence: againstModel };
  }

  #nothingIn(evidence: IsolationEvidence): boolean {
    return this.#isolation.judge(evidence, this.#believed).length === 0;
  }

  /** Lines follow a pump that steps by some seconds: only what outlasts them is a second trouble. */
  #withoutFollowers(found: readonly Found[], segmentAgeMs: number): readonly Found[] {
    const isAtPump = ({ best }: Found): boolean => best.hypothesis.subjectKind === 'pump';
    if (segmentAgeMs >= FOLLOWS_MS || !found.some(isAtPump)) return found;
    return found.filter((one) => isAtPump(one) || this.#findings.isActive(one.best));
  }

  #remember(causes: readonly Found[], { startMs }: SegmentMean, atMs: number): void {
    const names = causes.map(({ best }) => `${best.hypothesis.cause} ${best.hypothesis.subject}`).join();
    const same = startMs === this.#last.segmentMs && names === this.#last.names;
    this.#last = { atMs, segmentMs: startMs, names, repeats: same ? this.#last.repeats + 1 : 0 };
    this.#believed = causes.map(({ best }) => best);
  }

  #findingOf(one: Found, causes: readonly Found[], startMs: number, evidence: IsolationEvidence): Finding {
    const others = causes.filter((other) => other !== one).map(({ best }) => best);
    return findingOf(
      one,
      startMs,
      shownEvidence(this.#expectation.gauges, evidence),
      outflowOf(this.#expectation, one.best, evidence),
      bestQuestion(this.#expectation, evidence, one, others),
    );
  }

  /** What each of several causes makes of the gauges by itself. */
  #shiftOfEach(evidence: IsolationEvidence): readonly Float64Array[] {
    const causes = this.#believed;
    if (causes.length < 2) return [];
    const shiftOf = (set: readonly Candidate[]): Float64Array | null =>
      predictedShift(this.#expectation, evidence, set)?.ofGauges ?? null;
    const all = shiftOf(causes);
    return causes.flatMap((one) => {
      const without = shiftOf(causes.filter((other) => other !== one));
      return all && without ? [all.map((value, row) => value - without[row]!)] : [];
    });
  }
}

/** Without the moves of gates that were ordered: nothing is wrong there. */
function withoutMoves(found: readonly Found[]): readonly Found[] {
  return found
    .filter(({ best }) => best.hypothesis.moves === undefined)
    .map((one) => ({ ...one, rivals: one.rivals.filter(({ hypothesis }) => hypothesis.moves === undefined) }));
}
