/**
 * A replay of a recorded run: where it stands, what it may be told, and what today's rules make of it otherwise. Times
 * on the run's clock, ms.
 */
import Type from 'typebox';
import { body, MOMENT, oneOf, taggedBody, type Body } from './body.ts';

/**
 * By whose rules a replay shows the run. `then`: as it was shown then; `today`: what the rules of this version make of
 * the same packets; `hindsight`: the same with readings that came late put in their place.
 */
const REPLAY_RULES = ['then', 'today', 'hindsight'] as const;
export type ReplayRules = (typeof REPLAY_RULES)[number];

/** Seconds of the record a second; 'changes': from one recorded picture to the next, as fast as they can be shown. */
export type ReplaySpeed = number | 'changes';

/** Where a replay stands; `rerun` is the one that was asked for last. */
export interface ReplayState {
  readonly run: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly atMs: number;
  readonly playing: boolean;
  readonly speed: ReplaySpeed;
  readonly rules: ReplayRules;
  /** Versions that wrote the record, and that replay it. */
  readonly software: string;
  readonly softwareToday: string;
  readonly rerun:
    | { readonly name: 'none' }
    | { readonly name: 'working'; readonly share: number }
    | { readonly name: 'done'; readonly differences: number }
    | { readonly name: 'failed'; readonly why: string };
}

/** What a replay may be told: seconds to step, a moment to go to, a speed, whose rules. */
export const REPLAY_ORDER_SCHEMA = taggedBody('do', [
  body({ do: oneOf(['play', 'pause', 'stop-rerun']) }),
  body({ do: oneOf(['step']), seconds: Type.Number({ minimum: -86_400, maximum: 86_400 }) }),
  body({ do: oneOf(['go']), atMs: MOMENT }),
  body({
    do: oneOf(['speed']),
    speed: Type.Union([Type.Number({ exclusiveMinimum: 0, maximum: 100_000 }), Type.Literal('changes')]),
  }),
  body({ do: oneOf(['rules']), rules: oneOf(REPLAY_RULES) }),
]);
export type ReplayOrder = Body<typeof REPLAY_ORDER_SCHEMA>;

/** One line of what today's rules would have told otherwise, in words. */
export interface ReplayDifference {
  readonly atMs: number;
  readonly words: string;
  readonly then: string | null;
  readonly today: string | null;
}
