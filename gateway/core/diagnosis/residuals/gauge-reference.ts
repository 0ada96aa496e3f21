/**
 * How the gauges stood against the model when nothing was wrong, just before something changed.
 *
 * A step is seen against what was there a moment ago far more clearly than against a model that is off by its hoses and
 * by the zero of each gauge: these stay, and fall out of the difference. In: the mean residuals of the segment before a
 * change, judged healthy. Out: residuals of the present segment against them, with the covariance of the difference
 * (SI, observed x observed): noise of both, what gauges drift meanwhile, and what the model errs more by at another
 * pressure. A gauge that was not heard before the change is held against the model among the others. Limit: it goes
 * stale within minutes and knows nothing of what was wrong before it.
 */
import { FAR_SHARE, FLOW_WALK_SHARE, PRESSURE_WALK_PA } from '../model/gauge-errors.ts';
import type { GaugeHistory, SegmentMean } from './gauge-history.ts';
import type { LocalModel } from '../model/local-model.ts';
import type { Boundary, Gauge } from '../model/gauge.ts';

export interface Reference {
  readonly segment: SegmentMean;
  readonly endMs: number;
  readonly boundary: Setting;
}

/** What says at which setting pumps ran; each per pump. */
type Setting = Pick<Boundary, 'dischargePa' | 'speedRatio'>;

/** Judgement: slow waves that no noise figure has: 0.4 kPa, and 0.05 % of a pressure or 0.1 % of a flow. */
const WAVE_PA = 400;
const WAVE_SHARE = 0.0005;
const FLOW_WAVE_SHARE = 0.001;
/**
 * Judgement: a pump's curve is steeper or flatter than its sheet, by a tenth of what the discharge pressure moved
 * since.
 */
const CURVE_SHARE = 0.1;
/**
 * Judgement: in ten minutes an offset walks as far as it may; a twelfth more or less pressure, or an eightieth of
 * speed, is another setting.
 */
const STALE_MS = 600_000;
const FAR = 1 / 12;
const OTHER_SPEED = 0.012;
/** One reading of a speed is off by half of that. */
const SETTING_FRAMES = 3;
/** As long as a segment reaches back where gauges read once a minute. */
const BOUNDARIES = 240;

/** Mean of the last few frames. */
function settingOf(frames: readonly { readonly boundary: Boundary }[]): Setting {
  const last = frames.slice(-SETTING_FRAMES).map(({ boundary }) => boundary);
  const mean = (key: keyof Setting): Float64Array =>
    last[0]![key].map((_, pump) => last.reduce((sum, boundary) => sum + boundary[key][pump]!, 0) / last.length);
  return { dischargePa: mean('dischargePa'), speedRatio: mean('speedRatio') };
}

/** How far values of now are from those of the reference, log ratio; infinite where one has come or gone. */
function far(before: Float64Array, now: Float64Array): number {
  return Math.max(
    0,
    ...before.map((value, pump) =>
      Object.is(value, now[pump]) ? 0 : Math.abs(Math.log(now[pump]! / value)) || Infinity,
    ),
  );
}

function isOther(before: Setting, now: Setting): boolean {
  return far(before.dischargePa, now.dischargePa) > FAR || far(before.speedRatio, now.speedRatio) > OTHER_SPEED;
}

/** Keeps the reference: what was right before the last change; while something stands it stays as it was. */
export class References {
  #reference: Reference | null = null;
  #stoodMs = -Infinity;
  #boundaries: { readonly atMs: number; readonly boundary: Boundary }[] = [];
  /** Of the last frame in which nothing stood. */
  #right: { readonly atMs: number; readonly noise: Float64Array; readonly trusted: readonly boolean[] } | null = null;

  /** Null: there is none. */
  get reference(): Reference | null {
    return this.#reference;
  }

  clear(): void {
    this.#reference = null;
    this.#right = null;
  }

  /** Nothing is seen any more; with a history, what was right until then still is when the pumps are heard again. */
  rest(history: GaugeHistory | null): void {
    if (!history) return this.clear();
    const segment =
      this.#right && history.sinceChange(this.#right.atMs, this.#stoodMs, this.#right.noise, this.#right.trusted);
    if (segment) this.#adopt(segment, this.#right!.atMs);
    this.#right = null;
  }

  /**
   * One frame of a steady lay, after the history has settled. `stands`: something is found, so this is no time to learn
   * what is right.
   */
  observe(
    {
      atMs,
      boundary,
      trusted,
    }: { readonly atMs: number; readonly boundary: Boundary; readonly trusted: readonly boolean[] },
    history: GaugeHistory,
    noise: Float64Array,
    stands: boolean,
  ): void {
    this.#boundaries = [...this.#boundaries.slice(1 - BOUNDARIES), { atMs, boundary }];
    this.#right = stands ? null : { atMs, noise, trusted };
    if (stands) {
      this.#stoodMs = atMs;
      return;
    }
    const segment = history.beforeChange(atMs, this.#stoodMs, noise, trusted);
    if (segment) this.#adopt(segment, history.startMs);
    const stale =
      this.#reference &&
      (atMs - this.#reference.endMs > STALE_MS || isOther(this.#reference.boundary, settingOf(this.#boundaries)));
    if (stale) this.#reference = null;
  }

  /** A segment that saw two settings is no reference. */
  #adopt(segment: SegmentMean, endMs: number): void {
    const frames = this.#boundaries.filter(({ atMs }) => atMs >= segment.startMs && atMs <= endMs);
    if (frames.length > 0 && !isOther(settingOf(frames.slice(0, SETTING_FRAMES)), settingOf(frames)))
      this.#reference = { segment, endMs, boundary: settingOf(frames) };
  }
}

export interface Difference {
  readonly observedGauges: readonly number[];
  readonly residual: Float64Array;
  readonly covariance: Float64Array;
  /** What the reference had of each observed gauge; 0: held against the model. */
  readonly referenceOffset: Float64Array;
}

export function difference(
  reference: Reference,
  segment: SegmentMean,
  gauges: readonly Gauge[],
  { boundary: now, healthy, biasCovariance }: Pick<LocalModel, 'boundary' | 'healthy' | 'biasCovariance'>,
  nowMs: number,
): Difference {
  const before = reference.segment;
  const { observedGauges } = segment;
  const size = observedGauges.length;
  const early = observedGauges.map((gauge) => before.observedGauges.indexOf(gauge));
  const referenceOffset = Float64Array.from(early, (row) => before.means[row] ?? 0);
  const share = Math.min(1, Math.max(0, nowMs - reference.endMs) / STALE_MS);
  const away = Math.min(1, far(reference.boundary.dischargePa, now.dischargePa));
  const covariance = Float64Array.from(segment.noise);
  observedGauges.forEach((gauge, row) => {
    observedGauges.forEach((to, column) => {
      const [from, until] = [early[row]!, early[column]!];
      if (from >= 0 && until >= 0)
        covariance[row * size + column]! += before.noise[from * before.observedGauges.length + until]!;
      else if (from < 0 && until < 0) covariance[row * size + column]! += biasCovariance[gauge * gauges.length + to]!;
    });
    if (early[row]! < 0) return;
    const value = healthy.values[gauge]!;
    const { kind, pump } = gauges[gauge]!;
    const flow = kind === 'flow';
    const curve = kind === 'rise' ? CURVE_SHARE * (now.dischargePa[pump]! - reference.boundary.dischargePa[pump]!) : 0;
    const wave = flow ? (FLOW_WAVE_SHARE * value) ** 2 : WAVE_PA ** 2 + (WAVE_SHARE * value) ** 2;
    const walk = flow ? FLOW_WALK_SHARE * value : PRESSURE_WALK_PA;
    covariance[row * size + row]! +=
      wave + share * walk ** 2 + (away * referenceOffset[row]!) ** 2 + (FAR_SHARE * away * value) ** 2 + curve ** 2;
  });
  const residual = segment.means.map((mean, row) => mean - referenceOffset[row]!);
  return { observedGauges, covariance, referenceOffset, residual };
}
