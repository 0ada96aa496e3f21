/**
 * Whether a pump turns against a shut lay, told from whatever is heard of it. A hazard to people.
 *
 * In: once a second what the pump's gauges say, and what the lay says of them (outlet.ts). Out: since when, and
 * whether it stands. With a flow meter: next to no flow near shut-off pressure. Without one: a pressure at which the
 * lay would take far more than the pump can give, or that holds while all line ends fall to rest. Without a discharge
 * gauge: it turns and no flow, or no line end, is left (told as unsure: lost prime looks the same). Only readings
 * against it end it. Limits: near its shut-off pressure anyway, pressure alone shows nothing; a stopped pump whose
 * speed is not heard looks alike.
 */
import { NO_FLOW_SHARE } from '../../hydraulics/limits.ts';
import type { Outlet } from './outlet.ts';

export interface DeadHeadFrame {
  readonly atMs: number;
  /** When the oldest of the readings that are leaned on was measured. */
  readonly measuredMs: number;
  readonly speedRatio: number | null;
  readonly dischargePa: number | null;
  readonly flowM3s: number | null;
  /** Pressure that it would hold with everything shut at the speed heard, and at rated speed, Pa; null: not known. */
  readonly shutOffPa: number | null;
  readonly ratedShutOffPa: number;
  readonly ratedFlowM3s: number;
  /** The pump makes pressure. */
  readonly pressed: boolean;
  /** The lay behind it was full when it was last seen. */
  readonly full: boolean;
  readonly outlet: Outlet | null;
}

/** Judgements, from how these pumps are run (common practice, no source). */
const NEAR_SHARE = 0.88;
/** Shows for so long by two readings or more, or for so long by one after which no other has come. */
const HOLDS_MS = 7_000;
const ONE_READING_MS = 45_000;
/** What lost prime or a slow fill would explain as well is waited out. */
const DOUBTFUL_MS = 20_000;
const FILLING_MS = 45_000;
/** With no speed heard: more than hills hold, and more than an engine at less than half its speed makes. */
const HILLS = 1.5;
const IDLES_SHARE = 0.2;
const TURNS_RATIO = 0.3;
/**
 * Of what the lay would take, what the pump can give: less than the first of these is no open lay; less than the second
 * is none whose line ends are empty.
 */
const SHUT_SHARE = 0.55;
const EMPTY_SHARE = 0.9;
/** Of the pressure when line ends were last up: a burst lowers it. With one line end alone it must have risen. */
const HELD_SHARE = 0.97;
const RISEN_SHARE = 1.03;
/** Of the pressure at which it was found: less is no shut lay any more. */
const FALLEN_SHARE = 0.7;

/** A lay that would take so much does not stand open behind a pump that can give so little. */
export const isShutIn = (givesM3s: number, takesM3s: number): boolean => givesM3s < SHUT_SHARE * takesM3s;

/** From the first reading that shows it until it is told, of gauges that are read every `everyMs`. */
export const toldAfterMs = (everyMs: number): number =>
  Math.min(ONE_READING_MS, Math.max(1, Math.ceil(HOLDS_MS / everyMs)) * everyMs);

type Shown = 'shut' | 'doubtful' | 'filling' | 'open' | 'silent';

export class DeadHead {
  /** Since when readings show it, by their own time; null: they do not. */
  sinceMs: number | null = null;
  /** It was found, and nothing has spoken against it since. */
  stands = false;
  /** Told without a pressure: lost prime would look the same. */
  doubtful = false;
  #firstMs = 0;
  #foundPa: number | null = null;
  /** Discharge pressure when line ends were last up. */
  #rightPa: number | null = null;

  observe(frame: DeadHeadFrame): void {
    const shown = this.#shown(frame);
    if (frame.outlet?.ends === 'up' && frame.full && frame.pressed) this.#rightPa = frame.dischargePa;
    if (shown === 'open') return this.clear();
    if (shown === 'silent') {
      if (!this.stands) this.sinceMs = null;
      return;
    }
    if (this.sinceMs === null) {
      this.sinceMs = frame.measuredMs;
      this.#firstMs = frame.atMs;
    }
    if (frame.dischargePa !== null) this.#foundPa = Math.max(this.#foundPa ?? 0, frame.dischargePa);
    const leastMs = { shut: HOLDS_MS, doubtful: DOUBTFUL_MS, filling: FILLING_MS }[shown];
    const seenMs = frame.measuredMs - this.sinceMs;
    if (seenMs < leastMs && frame.atMs - this.#firstMs < ONE_READING_MS) return;
    this.doubtful = shown === 'doubtful' && (this.doubtful || !this.stands);
    this.stands = true;
  }

  clear(): void {
    this.sinceMs = null;
    this.stands = false;
    this.doubtful = false;
    this.#foundPa = null;
  }

  #shown(frame: DeadHeadFrame): Shown {
    const { flowM3s, dischargePa, pressed, shutOffPa, outlet } = frame;
    if (flowM3s !== null && flowM3s > NO_FLOW_SHARE * frame.ratedFlowM3s) return 'open';
    if (dischargePa === null) return this.#withoutPressure(frame);
    if (!pressed) return 'open';
    const near = shutOffPa === null ? null : dischargePa > NEAR_SHARE * shutOffPa;
    if (near === false) return 'open';
    if (flowM3s === null) return this.#withoutFlow(frame, dischargePa);
    if (near) return 'shut';
    const hillsPa = HILLS * (outlet?.hillsPa ?? 0) + IDLES_SHARE * frame.ratedShutOffPa;
    return outlet?.ends !== 'up' && dischargePa > hillsPa ? 'shut' : 'open';
  }

  #withoutPressure({ speedRatio, flowM3s, full, outlet }: DeadHeadFrame): Shown {
    if (outlet?.ends === 'up') return 'open';
    const turns = speedRatio !== null && speedRatio > TURNS_RATIO;
    return full && turns && (flowM3s !== null || outlet?.ends === 'gone') ? 'doubtful' : 'silent';
  }

  #withoutFlow({ full, outlet, ratedFlowM3s }: DeadHeadFrame, dischargePa: number): Shown {
    if (!outlet) return 'silent';
    if (outlet.ends === 'up') return 'open';
    if (this.stands && this.#foundPa !== null && dischargePa < FALLEN_SHARE * this.#foundPa) return 'open';
    const { givesM3s, takesM3s } = outlet.balance();
    // Every gate is told to be shut.
    if (takesM3s < NO_FLOW_SHARE * ratedFlowM3s && dischargePa > HILLS * outlet.hillsPa) return 'shut';
    if (!full) return isShutIn(givesM3s, takesM3s) ? 'filling' : 'silent';
    if (outlet.ends !== 'gone') return isShutIn(givesM3s, takesM3s) ? 'shut' : 'silent';
    const held = (outlet.openEnds > 1 ? HELD_SHARE : RISEN_SHARE) * (this.#rightPa ?? Infinity);
    return givesM3s < EMPTY_SHARE * takesM3s || dischargePa >= held ? 'shut' : 'silent';
  }
}
