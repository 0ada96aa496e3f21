/**
 * What a class of trouble on the scorecard is: what is done to the plant, what would be the right answer, how long it
 * may take, and the aim.
 *
 * `causes` are the right names, as the simulator's own table gives them; `kin` are those that move the readings the
 * same way and need another look to tell apart.
 */
import type { Cause } from '../../config/causes/causes.ts';
import type { Layout } from '../../config/layout/layout.ts';
import type { Deed } from '../../simulator/events.ts';
import type { SeededRandom } from '../../simulator/seeded-random.ts';
import type { Plant } from '../../simulator/plant.ts';

export interface Answer {
  /** Right names of the cause, as the gateway writes them. */
  readonly causes: readonly string[];
  /** Names that cannot be told from it by the same sensors, or only by a second look. */
  readonly kin: readonly string[];
  /** Causes that are as true, and are not what is asked. */
  readonly besides?: readonly Cause[];
  /** Right subject: line, trunk, pump, source or channel. Empty: any will do. */
  readonly subjects: readonly string[];
  /** Ids of which one must be in the named set; empty: no place asked. */
  readonly places: readonly string[];
  /** What the pump's flow changed by at its present pressure, from the plant itself, m3/s; null: no size asked. */
  readonly flowM3s: ((plant: Plant) => number) | null;
  /** Where the size is a time: how long the water lasts, s. The trouble is one once that is less than LOW_S. */
  readonly leftS: ((plant: Plant) => number) | null;
}

/** The gateway's own mark for a tank that is low (supply-watch.ts). */
export const LOW_S = 1_200;

export interface Fault {
  readonly deeds: readonly Omit<Deed, 'do'>[];
  readonly answer: Answer;
}

export interface Aim {
  readonly recall: number;
  readonly line: number | null;
  readonly cause: number;
  readonly delayS: number;
}

export interface FaultClass {
  readonly name: string;
  readonly aim: Aim | null;
  /** How long to watch after the onset, at one reading a second. */
  readonly watchS: number;
  /** Quiet running before the onset, besides the usual: what has to be learned first. */
  readonly leadS?: number;
  /** What the tank holds at the start, minutes of pumping, if it holds so much. */
  readonly minutesLeft?: readonly [number, number];
  /** Why nobody can see it, for classes that are here to be honest about. */
  readonly unseen?: string;
  /** Which water the lay must have; without it, any. */
  readonly water?: 'tank' | 'open';
  /** Strength of the beat of impact heads; without it, any from nothing to plain. */
  readonly beat?: readonly [number, number];
  /** Null: this lay cannot have it. */
  readonly draw: (layout: Layout, plant: Plant, dice: SeededRandom) => Fault | null;
}
