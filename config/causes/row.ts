/**
 * What is known of a cause, one row each: the compiler asks for every field of it.
 *
 * Out: the type of a row. Words are plain trade English; times in seconds. What a cause does to the lay is in
 * gateway/core/diagnosis/causes, how the simulator plays it in simulator/faults.
 */
import type { Mode } from '../modes.ts';

export type Priority = 'people' | 'high' | 'medium' | 'low';

/** Causes that sharpen into one another: at one subject they are one trouble, and move the readings the same way. */
type Family = 'outflow' | 'blocked' | 'pump-side' | 'sensor-off';

export interface CauseRow {
  /** As every sentence about it begins. */
  readonly name: string;
  /** Short noun: 'most likely cause: plugged nozzle', 'because of the hose burst on line B'. */
  readonly called: string;
  readonly family: Family | null;
  /**
   * What of the readings it moves. 'store': what is left, and nothing that a gauge shows now comes of it. 'shut-lay':
   * the pump turns against it with no flow. 'nothing': it passes, or leaves pressure and flow alone.
   */
  readonly moves: 'lay' | 'shut-lay' | 'pump' | 'suction' | 'store' | 'gauge' | 'nothing';
  /** It drags the whole lay with it: what the lay shows meanwhile is its symptom. */
  readonly drags: boolean;
  /** Whoever is near may be hurt: its priority is 'people', whatever else it does, and nothing holds it back. */
  readonly hazard: boolean;
  /**
   * How its priority is found, by what it does to heads. 'solved': the lay solved with every other trouble and without
   * this one. 'pump-out': all that the pump feeds, 'pump-out-if-dry': the same once it runs dry. 'its-head': the head
   * named. 'until-empty', 'until-fuel-out': all that is fed, once that runs out. 'unseen': what nobody can judge.
   */
  readonly costs:
    'solved' | 'pump-out' | 'pump-out-if-dry' | 'its-head' | 'until-empty' | 'until-fuel-out' | 'unseen' | 'nothing';
  /** While nobody can know what it does: by what such a trouble does as a rule, rather too high than too low. */
  readonly whileUnknown: Priority;
  /** Seconds it must hold before it is told, and be gone before it is over. Judgement, as in lifecycle.ts. */
  readonly delaysS: readonly [number, number];
  /** Modes whose work brings it about, and nothing else. Common practice, no source. */
  readonly heldBackBy: readonly Mode[];
  /** The cheapest thing that would confirm it. */
  readonly check: string;
  /** Which sentence of safety.ts its check is told with, besides what holds for whoever is sent anywhere. */
  readonly safety: 'stay-away' | 'fuel' | 'sending';
  /** What to bring, if command sends someone. Common practice, no source. */
  readonly carry: readonly string[];
  /**
   * What people call it when they look back at what was found; 'eyes': pressure and flow cannot show it.
   * 'sensor-wrong': one word for whatever a sensor does. Null: nobody finds it on site.
   */
  readonly find: { readonly words: string; readonly seenBy: 'gauges' | 'eyes' } | 'sensor-wrong' | null;
  /**
   * What a look at one head, hose or gate calls it, and how often such a look overlooks it. Judgement: no published
   * error rates were found.
   */
  readonly sight: { readonly words: string; readonly overlooked: number } | null;
}
