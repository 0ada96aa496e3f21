/**
 * Causes that show only while a pump stands still: whether its lay holds what it should.
 *
 * In: pumps second by second, the mode, what is found in the lay. Out: findings, and sentences on what cannot be seen.
 * Judged only after the pump has run long enough that its lay is full, not while people drain it, and not where an
 * outflow of the lay was found, which lets the water out as well. A reading that goes missing, or one of a gauge that
 * is said to drift, neither begins nor ends a finding. Two measurements begin it, and two of water that stands there
 * again end it, or a minute of flow at the meter.
 */
import { type Cause, CAUSE_IDS, CAUSES } from '../../../../config/causes/causes.ts';
import type { Layout, Pump, Sensor } from '../../../../config/layout/layout.ts';
import type { Mode } from '../../../../config/modes.ts';
import { PHYSICS } from '../causes/causes.ts';
import { keyOf } from '../causes/hypothesis.ts';
import type { AtRest, RestPhysics } from '../causes/standstill.ts';
import type { Finding } from '../isolation/finding.ts';
import type { PumpWatch } from './pump-watch.ts';

/** Judgement: a pump that has run for a minute, with nothing open, has a full lay behind it. */
const FULL_MS = 60_000;
/** Judgement: the lay comes to rest within seconds of a stop, and a gauge may be slow. */
const STANDS_MS = 15_000;
/** Judgement: one measurement may be of the surge at a stop or a start. */
const MEASUREMENTS = 2;
/** Judgement: so much of its rated flow fills a lay. */
const FLOWS_SHARE = 0.05;

const SHOWN_AT_REST = CAUSE_IDS.flatMap((cause): { readonly cause: Cause; readonly physics: RestPhysics }[] => {
  const physics = PHYSICS[cause];
  return 'atRest' in physics && physics.atRest ? [{ cause, physics: physics.atRest }] : [];
});

function dischargeOf(layout: Layout, pump: Pump): Sensor | null {
  return (
    layout.sensors.find(
      ({ quantity, mounting }) => quantity === 'pressure' && mounting.kind === 'discharge' && mounting.pump === pump.id,
    ) ?? null
  );
}

/** `isHeard`: whether a sensor says anything now. */
export function unseenAtRest(layout: Layout, isHeard: (sensor: Sensor) => boolean): string[] {
  return layout.pumps.flatMap((pump) => {
    const discharge = dischargeOf(layout, pump);
    const heard = discharge && isHeard(discharge) ? discharge : null;
    return SHOWN_AT_REST.flatMap(({ cause, physics }) => {
      const why = physics.unseen(layout, pump, heard);
      return why === null ? [] : [`${pump.label}: a ${CAUSES[cause].called} cannot be seen: ${why}.`];
    });
  });
}

/** How many measurements in a row say so. */
class InARow {
  #times = 0;
  #atMs: number | null = null;

  count(says: boolean, atMs: number | null): number {
    if (!says) this.#times = 0;
    else if (this.#times === 0 || atMs !== this.#atMs) this.#times += 1;
    this.#atMs = atMs;
    return this.#times;
  }
}

/** One pump and one cause. */
class Standstill {
  #finding: Finding | null = null;
  /** Since when it runs; null: it does not. */
  #runsMs: number | null = null;
  #isFull = false;
  /** When its lay was last found to lose water otherwise. */
  #openMs = -Infinity;
  #goneMs: number | null = null;
  /** Since when its flow meter has shown flow. */
  #flowsMs: number | null = null;
  readonly #gone = new InARow();
  readonly #held = new InARow();

  get finding(): Finding | null {
    return this.#finding;
  }

  tell(finding: Finding): void {
    this.#finding = finding;
  }

  /** `told`: what its discharge gauge says; null: nothing. Since when the lay has not held, once that lasts. */
  goneSinceMs(nowMs: number, pump: PumpWatch, around: Around, told: AtRest | null): number | null {
    const { state } = pump.regime;
    const runs = state === 'running' || state === 'dead-head';
    this.#runsMs = runs ? (this.#runsMs ?? nowMs) : null;
    if (around.isOpen) this.#openMs = nowMs;
    if (this.#runsMs !== null) this.#isFull = nowMs - Math.max(this.#runsMs, this.#openMs) >= FULL_MS;
    if (around.isDrained || state === 'starting') this.#isFull = false;
    const isHeld = this.#held.count(told?.says === 'held', pump.dischargeMs) >= MEASUREMENTS;
    if (around.isDrained || isHeld || this.#isFilled(nowMs, pump)) this.#finding = null;
    const isGone = state === 'stopped' && this.#isFull && told?.says === 'gone';
    this.#goneMs = isGone ? (this.#goneMs ?? nowMs) : null;
    const measured = this.#gone.count(isGone, pump.dischargeMs);
    const stands = this.#goneMs !== null && measured >= MEASUREMENTS && nowMs - this.#goneMs >= STANDS_MS;
    return stands ? this.#goneMs : null;
  }

  /** By its flow meter, whatever its discharge gauge says or does not. */
  #isFilled(nowMs: number, { readings, side }: PumpWatch): boolean {
    const flows = (readings.flowM3s ?? 0) > FLOWS_SHARE * side.ratedFlowM3s;
    this.#flowsMs = flows ? (this.#flowsMs ?? nowMs) : null;
    return this.#flowsMs !== null && nowMs - this.#flowsMs >= FULL_MS;
  }
}

/** What is said and found besides. */
interface Around {
  /** People let the water out. */
  readonly isDrained: boolean;
  /** The lay loses water by a leak, a head off or a burst hose, or may do so: nothing explains it. */
  readonly isOpen: boolean;
}

export class StandstillWatch {
  readonly #layout: Layout;
  readonly #watched: ReadonlyMap<string, Standstill>;

  constructor(layout: Layout) {
    this.#layout = layout;
    this.#watched = new Map(
      layout.pumps.flatMap(({ id }) => SHOWN_AT_REST.map(({ cause }) => [keyOf(cause, id), new Standstill()])),
    );
  }

  observe(
    nowMs: number,
    mode: Mode | null,
    pumps: readonly PumpWatch[],
    ofLay: readonly Pick<Finding, 'cause' | 'subject'>[],
  ): Finding[] {
    const around = {
      isDrained: mode === 'draining',
      isOpen: ofLay.some(({ cause }) => CAUSES[cause].family === 'outflow' || cause === 'unexplained'),
    };
    const drifting = new Set(ofLay.filter(({ cause }) => cause === 'sensor-drift').map(({ subject }) => subject));
    return SHOWN_AT_REST.flatMap(({ cause, physics }) => {
      const found = pumps.flatMap((pump) => {
        const { id } = pump.pump;
        const watched = this.#watched.get(keyOf(cause, id))!;
        const dischargePa = pump.dischargeAtMostPa(nowMs);
        const gauge = dischargeOf(this.#layout, pump.pump);
        const trusted = gauge && dischargePa !== null && !drifting.has(gauge.id);
        const told = trusted ? physics.judge(this.#layout, pump.pump, gauge, dischargePa) : null;
        const sinceMs = watched.goneSinceMs(nowMs, pump, around, told);
        if (sinceMs !== null) watched.tell(findingOf(cause, id, sinceMs, told!, gauge!.id, dischargePa!));
        return watched.finding ? [watched.finding] : [];
      });
      return found.map((finding) => amongAll(finding, found));
    });
  }
}

/** Pumps that share a lay empty it together: which of their valves passes, nothing here can tell. */
function amongAll(finding: Finding, all: readonly Finding[]): Finding {
  const probability = finding.probability / all.length;
  const others = all.filter((one) => one !== finding);
  const alike = others.map(({ cause, subject }) => ({ cause, subject, place: subject, probability }));
  return { ...finding, probability, rivals: [...alike, ...finding.rivals] };
}

function findingOf(
  cause: Cause,
  pump: string,
  sinceMs: number,
  told: AtRest,
  channel: string,
  measured: number,
): Finding {
  return {
    key: keyOf(cause, pump),
    cause,
    subject: pump,
    subjectKind: 'pump',
    places: [{ id: pump, probability: 1 }],
    sinceMs,
    probability: told.probability,
    sizeM3s: null,
    evidence: [{ channel, measured, expected: told.expectedPa, tolerance: told.tolerancePa }],
    rivals: told.rivals,
    question: null,
    facts: {},
  };
}
