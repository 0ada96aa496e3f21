/**
 * A cause at one place of a lay: what it does to the network or to gauges, which sizes it may have, and how common it
 * is before any data.
 *
 * A network cause changes the solver's settings; a gauge cause moves readings only. Sizes are dimensionless handles:
 * leak and burst: coefficient over that of the hose's open bore; plug: share of the nozzle shut; restriction: extra
 * resistance over the hose's own; gauge causes: standard deviations of the gauge's offset before a baseline.
 */
import { type Cause, CAUSES } from '../../../../config/causes/causes.ts';
import type { Gate, Head, Hose, Layout } from '../../../../config/layout/layout.ts';
import type { Network } from '../../hydraulics/network.ts';
import type { Parameter } from '../../hydraulics/sensitivity.ts';
import type { Settings } from '../../hydraulics/settings.ts';
import type { Gauge } from '../model/gauge.ts';
import type { RestPhysics } from './standstill.ts';

export interface Hypothesis {
  readonly cause: Cause;
  /** Head, hose, place, gate, pump or channel it sits at. */
  readonly place: string;
  readonly subject: string;
  readonly subjectKind: 'line' | 'trunk' | 'pump' | 'source' | 'channel';
  /** How common it is, relative to the others. Judgement throughout: no public failure statistics were found. */
  readonly weight: number;
  /** Fixed: the kit says how large it is, within `spread` (relative). Sized: fitted between `low` and `high`. */
  readonly size:
    | { readonly fixed: true; readonly spread: number }
    | { readonly fixed: false; readonly low: number; readonly high: number };
  readonly effect:
    | {
        readonly kind: 'network';
        readonly apply: (settings: Settings, size: number) => void;
        readonly slope: Slope | null;
      }
    /** The gauge reads off by size x `unit` (SI), and so does every expectation that leans on it. */
    | { readonly kind: 'offset'; readonly gauge: number; readonly unit: number }
    /** What the gauges measure truly changed by size x `unit`; nothing else leans on the old values. */
    | { readonly kind: 'shift'; readonly moves: readonly { readonly gauge: number; readonly unit: number }[] }
    /** Two gauges each read what the other should (swapped-sensors.ts). */
    | { readonly kind: 'swap'; readonly gauges: readonly [number, number] };
  /** Index of the gate that this is the ordered move of: nothing is wrong then. */
  readonly moves?: number;
}

/** Derivative at size zero: the parameter and its change for a unit of size. */
export interface Slope {
  readonly parameter: Parameter;
  readonly perSize: number;
}

/** What the causes are made for. */
export interface Lay {
  readonly layout: Layout;
  readonly network: Network;
  readonly gauges: readonly Gauge[];
}

/** The physics of one cause: at each kind of thing that it may sit at, what it would do there. */
export interface Physics {
  readonly atHead?: (lay: Lay, head: Head, index: number) => Hypothesis;
  readonly atHose?: (lay: Lay, hose: Hose) => Hypothesis;
  readonly atGate?: (lay: Lay, gate: Gate) => Hypothesis;
  readonly atGauge?: (lay: Lay, gauge: Gauge, index: number) => readonly Hypothesis[];
  /** At a gauge of a pump: what happens on its own side and leaves the lay as it is. */
  readonly atPumpGauge?: (lay: Lay, gauge: Gauge, index: number) => readonly Hypothesis[];
  /** Seen only while a pump stands still. */
  readonly atRest?: RestPhysics;
  /** `ends`: the gauges of line ends. */
  readonly atEnds?: (lay: Lay, ends: readonly number[]) => readonly Hypothesis[];
}

export type Where = Pick<Hypothesis, 'place' | 'subject' | 'subjectKind'>;

/** A hose or gate of a line, or of the trunk. */
export function onLine({ id, line }: { readonly id: string; readonly line: string | null }): Where {
  return line === null
    ? { place: id, subject: 'trunk', subjectKind: 'trunk' }
    : { place: id, subject: line, subjectKind: 'line' };
}

/** What one step of a gauge's offset is before a baseline. */
export function offsetUnit({ sensor }: Gauge): number {
  return Math.max(sensor.offsetSd, 2 * sensor.noiseSd);
}

/** At one subject, causes of one family are one trouble. */
export function keyOf(cause: Cause, subject: string): string {
  return `${CAUSES[cause].family ?? cause}:${subject}`;
}
