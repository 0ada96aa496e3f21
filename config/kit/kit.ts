/**
 * What a piece of kit is to the model: hose, head, pump and gate, in SI (m, Pa gauge, m3/s, m3, 1/s).
 *
 * Rows live in kit-catalogue.ts, and a layout may carry its own. Every row names the source of its figures, and says
 * how well it is known (one standard deviation) so that a verdict can be no surer than the kit is.
 */
export type FrictionLaw =
  | { readonly law: 'hazen-williams'; readonly c: number }
  /** Handbook coefficient: FL[psi] = C (Q/100 US gpm)^2 (L/100 ft). */
  | { readonly law: 'coefficient'; readonly c: number }
  /** Friction factor by Swamee & Jain, or by Colebrook & White itself. */
  | { readonly law: 'darcy-weisbach'; readonly roughnessM: number; readonly colebrook?: boolean };

export interface HoseKit {
  readonly id: string;
  readonly label: string;
  readonly boreM: number;
  readonly friction: FrictionLaw;
  /** One standard deviation of the resistance, relative: how well the kit row is known before a baseline. */
  readonly resistanceSd: number;
  /** Pressure-wave speed, for shocks. */
  readonly waveSpeedMps: number;
  readonly burstPa: number;
  /** A percolating hose weeps q = k sqrt(p) along each metre, m3/s; left out: tight. */
  readonly weepKPerM?: number;
  readonly source: string;
}

export const HEAD_FAMILIES = ['impact', 'rotator', 'spinner'] as const;
export type HeadFamily = (typeof HEAD_FAMILIES)[number];

export interface HeadKit {
  readonly id: string;
  readonly label: string;
  readonly family: HeadFamily;
  /** q = k p^exponent, q in m3/s, p in Pa gauge. */
  readonly k: number;
  readonly exponent: number;
  /** One standard deviation of k, relative. */
  readonly kSd: number;
  /** Turns between these; null where the family does not turn on pressure alone. */
  readonly turnPaMin: number;
  readonly turnPaMax: number;
  /** Past this it is likely to break or be thrown off. */
  readonly survivesPa: number;
  /** Bore left open when the head comes off its fitting, and the discharge coefficient of that opening. */
  readonly openBoreM: number;
  readonly openDischargeCoefficient: number;
  readonly throwM: number;
  /** A light head that shock can knock off. */
  readonly light: boolean;
  readonly source: string;
}

export const PUMP_CONTROLS = ['throttle', 'governor'] as const;
type PumpControl = (typeof PUMP_CONTROLS)[number];

export interface PumpKit {
  readonly id: string;
  readonly label: string;
  /** Points of the head curve at rated speed: flow rising, pressure rise falling. */
  readonly curveFlowM3s: readonly number[];
  readonly curveRisePa: readonly number[];
  readonly ratedRotationHz: number;
  /** One standard deviation of the pressure rise, relative, before a baseline. */
  readonly curveSd: number;
  readonly fuelUseM3s: number;
  readonly npshRequiredM: number;
  /** 'throttle': speed is set by hand. 'governor': holds a discharge pressure. */
  readonly control: PumpControl;
  readonly source: string;
}

/** A valve somebody can shut, and what it costs when open: loss factor on the velocity head of its bore. */
export interface GateKit {
  readonly id: string;
  readonly label: string;
  readonly boreM: number;
  readonly openLossFactor: number;
  readonly source: string;
}
