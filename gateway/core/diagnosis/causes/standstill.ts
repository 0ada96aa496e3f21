/**
 * The shape of a cause that shows only while a pump stands still with a full lay behind it.
 *
 * In: layout, pump, a reading of its discharge gauge, Pa. Out: what the reading says, or why none here could say it.
 * When such a reading may be judged at all is for pump/standstill-watch.ts.
 */
import type { Layout, Pump, Sensor } from '../../../../config/layout/layout.ts';
import type { Rival } from './rival.ts';

export interface AtRest {
  /** 'gone': the lay does not hold what it should; 'held': it does. */
  readonly says: 'gone' | 'held' | 'nothing';
  /** Least that it should hold, and how far off a sound one may read, Pa. */
  readonly expectedPa: number;
  readonly tolerancePa: number;
  /** How sure 'gone' is, and what looks the same. */
  readonly probability: number;
  readonly rivals: readonly Rival[];
}

export interface RestPhysics {
  /** A clause: why nobody can see it at this pump; null: it can be seen, or this pump cannot have it. */
  readonly unseen: (layout: Layout, pump: Pump, discharge: Sensor | null) => string | null;
  /** Null: it cannot be seen here. */
  readonly judge: (layout: Layout, pump: Pump, discharge: Sensor, dischargePa: number) => AtRest | null;
}
