/**
 * The residuals of one lay: taken frame by frame, kept as a history, and held against what was right.
 *
 * In: each frame's readings and the model near its boundary. Out: the segment that is ready to be judged, the evidence
 * it gives, where each gauge stands, and what creeps. Limit: valid only while pumps run steadily and the lay is full;
 * its owner files no frame of another kind.
 */
import type { Prediction } from '../model/expectation.ts';
import type { Boundary, Gauge } from '../model/gauge.ts';
import type { LocalModel } from '../model/local-model.ts';
import { Creep, type Creeping } from './creep.ts';
import { fitOf, latelyMs, NO_FIT, varianceOf, type GaugeFit } from './gauge-fit.ts';
import { GaugeHistory, type SegmentMean } from './gauge-history.ts';
import { References } from './gauge-reference.ts';
import { againstModel, againstReference, type ResidualEvidence } from './residual-evidence.ts';
import { ResidualShapes } from './residual-shapes.ts';
import type { Shape } from './shape.ts';
import { TimeAlignedResiduals, type NewReadings, type Residual } from './time-aligned-residuals.ts';

/** Judgement: a segment is judged on so many readings; on fewer where the change before it is plain. */
const SURE_FRAMES = 3;
const PLAIN_FRAMES = 2;

export interface FrameReadings extends NewReadings {
  readonly boundary: Boundary;
  /** When the boundary was measured. */
  readonly boundaryMs: number;
  /** Time between readings of each gauge. */
  readonly everyMs: readonly number[];
  /** Gauges that are neither stale nor stuck. */
  readonly trusted: readonly boolean[];
}

export class LayResiduals {
  readonly history: GaugeHistory;
  readonly #gauges: readonly Gauge[];
  readonly #aligned = new TimeAlignedResiduals();
  readonly #references = new References();
  readonly #creep: Creep;
  readonly #shapes = new ResidualShapes();
  /** What was measured before this is not filed. */
  #heldMs = 0;

  constructor(gauges: readonly Gauge[]) {
    const intervalsS = gauges.map(({ sensor }) => sensor.intervalS);
    this.#gauges = gauges;
    this.history = new GaugeHistory(intervalsS);
    this.#creep = new Creep(intervalsS);
  }

  get creeping(): readonly Creeping[] {
    return this.#creep.creeping;
  }

  /** Nothing is expected of the lay. `unheard`: what was right until then still is when the pumps are heard again. */
  rest(nowMs: number, unheard: boolean): void {
    this.#aligned.clear();
    this.#references.rest(unheard ? this.history : null);
    this.history.restart(nowMs);
    this.#creep.relearn();
  }

  /** What is normal has changed: history begins at `fromMs`. */
  restart(fromMs: number): void {
    this.#references.clear();
    this.history.restart(fromMs);
    this.#creep.relearn();
  }

  /** Nothing measured before `untilMs` is filed. */
  hold(untilMs: number): void {
    this.#heldMs = untilMs;
  }

  isHeld(atMs: number): boolean {
    return atMs < this.#heldMs;
  }

  /** A frame's readings against what was expected when they were measured. */
  of(frame: FrameReadings, healthy: Prediction): readonly Residual[] {
    this.#aligned.file(frame.boundaryMs, healthy.values);
    return this.#aligned.residuals(frame).filter(({ atMs }) => !this.isHeld(atMs));
  }

  /** `explained`: something is found, so that what a gauge is off by is no creep. */
  file(frame: FrameReadings, residuals: readonly Residual[], model: LocalModel, explained: boolean): void {
    this.history.pace(frame.everyMs, frame.boundaryEveryMs);
    for (const { gauge, atMs, value } of residuals) this.history.file(gauge, atMs, value);
    this.#creep.observe(frame.atMs, frame.boundary.dischargePa, residuals, model.healthy.values, explained);
    this.history.findChangePoint(frame.atMs, model.readingNoise, frame.trusted);
  }

  /** `stands`: something is found, so this is no time to learn what is right. */
  learnReference(frame: FrameReadings, readingNoise: Float64Array, stands: boolean): void {
    this.#references.observe(frame, this.history, readingNoise, stands);
  }

  /** What passed for right was not. */
  forgetReference(): void {
    this.#references.clear();
  }

  /** The present segment, once it holds enough readings and its last seconds hint at no change; null: not yet. */
  segmentToJudge({ atMs, trusted }: FrameReadings, { healthy, readingNoise }: LocalModel): SegmentMean | null {
    const maySpeak = trusted.map((one, gauge) => one && Number.isFinite(healthy.values[gauge]!));
    const segment = this.history.segment(atMs, readingNoise, maySpeak);
    const least = this.history.changedPlainly(atMs) ? PLAIN_FRAMES : SURE_FRAMES;
    if (segment.samples < least || segment.observedGauges.length === 0) return null;
    return this.history.mayBeChanging(atMs, readingNoise, maySpeak) ? null : segment;
  }

  /** Against what was right a moment ago, if there is such a thing, and last against the model. */
  evidence(segment: SegmentMean, model: LocalModel, nowMs: number): readonly ResidualEvidence[] {
    const { reference } = this.#references;
    const plain = againstModel(model, segment);
    return reference ? [againstReference(model, segment, reference, this.#gauges, nowMs), plain] : [plain];
  }

  shapes(nowMs: number): ReadonlyMap<number, Shape> {
    return this.#shapes.of(this.#gauges, this.history, nowMs);
  }

  /** `present`: expectation with the causes found in it; null: there is none. */
  fits({ atMs, everyMs }: FrameReadings, model: LocalModel, present: Prediction | null): GaugeFit[] {
    return this.#gauges.map((_, gauge) => {
      const { spanMs, least } = latelyMs(everyMs[gauge]! / 1_000);
      const { mean, count } = this.history.recent(gauge, atMs - spanMs);
      const expected = model.healthy.values[gauge]!;
      if (count < least || !present || !Number.isFinite(expected)) return NO_FIT;
      return fitOf(mean, count, present.values[gauge]! - expected, varianceOf(model, gauge, this.#gauges.length));
    });
  }
}
