/**
 * Friction and minor losses of a set of hoses as coefficients in typed arrays, for the inner loop of the solver.
 *
 * In: hoses with their friction law, bore, length (m) and loss factor; kinematic viscosity m2/s. Out: one row a hose.
 * The laws themselves are in friction.ts.
 */
import { boreArea, frictionResistance, reynoldsPerFlow, velocityPressure } from './friction.ts';
import type { PipePart } from './parts.ts';

/** Law numbers of the inner loop. */
export const HAZEN_WILLIAMS = 0;
const SQUARE = 1;
export const DARCY_WEISBACH = 2;
export const COLEBROOK = 3;

/** Friction and minor losses of a set of hoses, as coefficients. */
export interface HoseTable {
  readonly law: Uint8Array;
  /** Pa per (m3/s)^1.852 or ^2; Darcy-Weisbach at f = 1. */
  readonly friction: Float64Array;
  /** Pa per (m3/s)^1.852, of a suction on a hydrant; else 0. */
  readonly supply: Float64Array;
  /** Pa per (m3/s)^2. */
  readonly minor: Float64Array;
  readonly reynoldsPerFlow: Float64Array;
  readonly relativeRoughness: Float64Array;
  /** Below this flow the power laws are replaced by a cubic of finite slope. */
  readonly trickleM3s: Float64Array;
}

/** Judgement: m/s. Under a tenth of a millimetre a second no law holds, and no instrument here could tell. */
export const TRICKLE_MPS = 1e-4;

const LAW_NUMBER = {
  'hazen-williams': HAZEN_WILLIAMS,
  coefficient: SQUARE,
  'darcy-weisbach': DARCY_WEISBACH,
  colebrook: COLEBROOK,
} as const;

export function hoseTable(hoses: readonly Omit<PipePart, 'name' | 'from' | 'to'>[], viscosityM2s: number): HoseTable {
  return {
    law: Uint8Array.from(
      hoses,
      ({ friction }) =>
        LAW_NUMBER[friction.law === 'darcy-weisbach' && friction.colebrook ? 'colebrook' : friction.law],
    ),
    friction: Float64Array.from(hoses, (hose) => frictionResistance(hose.friction, hose.boreM, hose.lengthM)),
    supply: Float64Array.from(hoses, (hose) => hose.supplyLoss ?? 0),
    minor: Float64Array.from(hoses, (hose) => hose.lossFactor * velocityPressure(hose.boreM)),
    reynoldsPerFlow: Float64Array.from(hoses, (hose) => reynoldsPerFlow(hose.boreM, viscosityM2s)),
    relativeRoughness: Float64Array.from(hoses, ({ friction, boreM }) =>
      friction.law === 'darcy-weisbach' ? friction.roughnessM / boreM : 0,
    ),
    trickleM3s: Float64Array.from(hoses, (hose) => TRICKLE_MPS * boreArea(hose.boreM)),
  };
}
