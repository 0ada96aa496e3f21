/**
 * Follows one running hose lay: what every gauge should read and how far it may be off, and the causes found where it
 * is.
 *
 * In: one frame a second with the boundary, the gauges' new readings and how the pumps move. Out: expectation, bands,
 * findings; and the calibration when the crew has walked the lay. The model expects (model/), residuals are filed
 * (residuals/), causes compete for them (isolation/), baselines sharpen the model (baseline/); here is the order of it.
 * Valid only while pumps run steadily and the lay is full; the watch decides when that is so.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import { buildNetwork } from '../hydraulics/network.ts';
import { Baselines } from './baseline/baselines.ts';
import type { Calibration } from './baseline/calibration.ts';
import type { Walked } from './baseline/walked.ts';
import { hypothesesOf } from './causes/causes.ts';
import { changesOf } from './isolation/candidate.ts';
import { CauseIsolation } from './isolation/cause-isolation.ts';
import { CauseJudgement, type JudgedFrame } from './isolation/cause-judgement.ts';
import type { Finding } from './isolation/finding.ts';
import { Expectation, type Prediction } from './model/expectation.ts';
import { gaugesOf, type Boundary, type Gauge } from './model/gauge.ts';
import { LocalModels, type LocalModel } from './model/local-model.ts';
import type { ParameterEstimate } from './model/parameter-estimate.ts';
import type { Motion } from './pump/pump-watch.ts';
import type { Creeping } from './residuals/creep.ts';
import { bandsOf, NO_FIT, type Band, type GaugeFit } from './residuals/gauge-fit.ts';
import { LayResiduals } from './residuals/lay-residuals.ts';
import type { Residual } from './residuals/time-aligned-residuals.ts';
import type { MonitoredLay } from './states/monitored-lay.ts';
import { firstShort, type FirstShort } from './supply/first-underpressure.ts';

export type GaugeFrame = JudgedFrame;

/** What the last frame said of the lay. */
interface LayNow {
  /** Expectation of the healthy lay. */
  readonly healthy: Prediction | null;
  /** Expectation with the causes found in it: what heads get now. */
  readonly present: Prediction | null;
  readonly bands: readonly (Band | null)[];
  readonly fits: readonly GaugeFit[];
}

export class NetworkMonitor implements MonitoredLay {
  readonly layout: Layout;
  readonly expectation: Expectation;
  readonly gauges: readonly Gauge[];
  readonly #models: LocalModels;
  readonly #baselines: Baselines;
  readonly #residuals: LayResiduals;
  readonly #causes: CauseJudgement;
  /** Boundary of the last frame. */
  #boundary: Boundary | null = null;
  #now: LayNow = { healthy: null, present: null, bands: [], fits: [] };

  constructor(layout: Layout) {
    this.layout = layout;
    const network = buildNetwork(layout);
    this.gauges = gaugesOf(layout, network);
    this.expectation = new Expectation(layout, network, this.gauges);
    this.#models = new LocalModels(this.expectation);
    this.#residuals = new LayResiduals(this.gauges);
    const isolation = new CauseIsolation(this.expectation, hypothesesOf(layout, network, this.gauges));
    this.#causes = new CauseJudgement(this.expectation, isolation, this.#residuals);
    this.#baselines = new Baselines(this.expectation, isolation);
  }

  get belief(): ParameterEstimate {
    return this.#baselines.estimate;
  }

  get calibrated(): boolean {
    return this.#baselines.calibrated;
  }

  get healthy(): Prediction | null {
    return this.#now.healthy;
  }

  get present(): Prediction | null {
    return this.#now.present;
  }

  get bands(): readonly (Band | null)[] {
    return this.#now.bands;
  }

  get fits(): readonly GaugeFit[] {
    return this.#now.fits;
  }

  get findings(): readonly Finding[] {
    return this.#causes.findings;
  }

  get creeping(): readonly Creeping[] {
    return this.#residuals.creeping;
  }

  /** Gates whose ordered move the last judgement saw. */
  get moved(): readonly number[] {
    return this.#causes.movedGates;
  }

  get believed(): MonitoredLay['believed'] {
    return { causes: this.#causes.believed, boundary: this.#boundary };
  }

  walked(boundary: Boundary): Walked {
    return this.#baselines.walked(boundary);
  }

  /** One second of a lay that runs or fills. Throws where the model has no solution. */
  observe(frame: GaugeFrame, motion: Motion): void {
    this.#causes.startFrame(frame.atMs, motion === 'throttled');
    const model = this.#modelAt(frame);
    this.#boundary = frame.boundary;
    const residuals = this.#residuals.of(frame, model.healthy);
    if (isSteady(motion) && !this.#residuals.isHeld(frame.atMs)) this.#diagnose(frame, residuals, model);
    const present = this.#presentIn(model);
    this.#now = {
      healthy: model.healthy,
      present,
      bands: bandsOf(model),
      fits: this.#residuals.fits(frame, model, present),
    };
  }

  #modelAt({ atMs, boundary }: GaugeFrame): LocalModel {
    const model = this.#models.at(this.belief, boundary, atMs, () => this.#baselines.lag(atMs, boundary));
    if (!model) throw new Error('the model of this layout has no solution at the measured pressures');
    return model;
  }

  /** Residuals are filed; unless a trouble is just receding, causes are judged on them. */
  #diagnose(frame: GaugeFrame, residuals: readonly Residual[], model: LocalModel): void {
    this.#residuals.file(frame, residuals, model, this.findings.length > 0);
    const receding = this.#causes.isReceding(frame, model);
    this.#residuals.learnReference(frame, model.readingNoise, this.#causes.stands);
    if (!receding) this.#causes.judge(frame, model);
  }

  #presentIn({ belief, boundary, healthy }: LocalModel): Prediction | null {
    const { believed } = this.#causes;
    return believed.length === 0 ? healthy : this.expectation.predict(belief, boundary, changesOf(believed));
  }

  /** It does not run, or is `unheard`: nothing is expected of it. What was found stands until it is judged again. */
  rest(nowMs: number, unheard: boolean): void {
    this.#now = {
      healthy: null,
      present: null,
      bands: this.gauges.map(() => null),
      fits: this.gauges.map(() => NO_FIT),
    };
    this.#causes.rest();
    this.#residuals.rest(nowMs, unheard);
  }

  /** A known action changed what is normal: causes found so far are judged afresh, once the lay has come to rest. */
  restart(nowMs: number, restMs: number): void {
    this.#residuals.restart(nowMs + restMs);
    this.#residuals.hold(nowMs + restMs);
    this.#causes.restart();
  }

  /** What was found is explained by what people told: all of it, or what began since `fromMs`, but for these keys. */
  forget(fromMs = -Infinity, but: readonly string[] = []): void {
    this.#causes.forget(fromMs, but);
  }

  /** Takes a baseline on the mean of a steady spell. On success causes and history start afresh. */
  baseline(boundary: Boundary, means: Float64Array, samples: number, nowMs: number): Calibration {
    const result = this.#baselines.take(boundary, means, samples, nowMs);
    if (!result.ok) return result;
    this.forget();
    this.#residuals.restart(nowMs);
    return result;
  }

  /** Another gauge at this place, or another zero of it. */
  regauge(sensorId: string, nowMs: number): void {
    const gauge = this.gauges.findIndex(({ sensor }) => sensor.id === sensorId);
    if (gauge < 0) return;
    this.#baselines.regauge(gauge);
    this.restart(nowMs, 0);
  }

  /**
   * Which head of those that work falls short first while this source empties, at the readings of the last frame; null:
   * none, or nothing can be said.
   */
  firstShort(source: number, works: ReadonlySet<string>): FirstShort | null {
    const { expectation, belief, present } = this;
    if (!present || !this.#boundary) return null;
    const lay = { expectation, belief, boundary: this.#boundary, present, changes: changesOf(this.#causes.believed) };
    return firstShort(lay, source, works);
  }
}

/**
 * A pressure that falls at the same speed is the lay's doing, and the lay follows it within a second; one that rises
 * may be a pump that is being shut in.
 */
function isSteady(motion: Motion): boolean {
  return motion === 'still' || motion === 'falls';
}
