/**
 * The layout of one site, as every room of the house sees it: what was rigged, where, and what measures it.
 *
 * All quantities are SI (m, Pa gauge, m3, m3/s, s, 1/s for rotation, degC for air) and carry the unit in their name.
 * Identifiers are unique over the whole site, whatever they name. The parser (layout-parser.ts) is the only maker of
 * these objects: what reaches other rooms is complete, cross-checked and frozen.
 */
import type { HeadKit, HoseKit, PumpKit } from '../kit/kit.ts';
import type { Mapping } from '../mapping/mapping.ts';

export interface Layout {
  /** Short name used in topics and file names: the file's base name, `[a-z0-9-]+`. */
  readonly site: string;
  readonly name: string;
  readonly revision: number;
  /** FNV-1a, 64 bit, of the file's text, hex: which layout a verdict was made under. */
  readonly fingerprint: string;
  /** Units of spoken sentences and the screen's first choice. */
  readonly units: UnitSystem;
  /** IANA name, for the local 24 h time in sentences. */
  readonly timeZone: string;
  readonly altitudeM: number;
  readonly places: readonly Place[];
  readonly sources: readonly Source[];
  readonly pumps: readonly Pump[];
  readonly hoses: readonly Hose[];
  readonly gates: readonly Gate[];
  readonly lines: readonly Line[];
  readonly heads: readonly Head[];
  readonly structures: readonly Structure[];
  readonly sensors: readonly Sensor[];
  /** How foreign devices are read; most sites have none. */
  readonly mappings: readonly Mapping[];
}

export const UNIT_SYSTEMS = ['us', 'imperial', 'metric'] as const;
export type UnitSystem = (typeof UNIT_SYSTEMS)[number];

/** A point of the lay where hoses meet. */
export interface Place {
  readonly id: string;
  readonly label: string;
  /** Plan coordinates, metres east and north of the site's own origin. */
  readonly xM: number;
  readonly yM: number;
  /** Height of the hose there above the site's own datum. */
  readonly elevationM: number;
}

/** Where the water comes from. `elevationM` is the height of the tank floor, or of open water's surface. */
export interface Source {
  readonly id: string;
  readonly label: string;
  readonly xM: number;
  readonly yM: number;
  readonly elevationM: number;
  readonly shape: SourceShape;
  /** A hydrant or a house tap, whose shape is 'open-water': what it holds at rest, and while a flow is drawn. */
  readonly mains: Mains | null;
  /** Share of the volume that the suction can reach, 0..1. */
  readonly usable: number;
  /** From asking for water until it runs into this tank. Open water: never needed. */
  readonly refillS: number;
}

/** Gauge at the source's own height. */
export interface Mains {
  readonly staticPa: number;
  readonly residualPa: number;
  readonly residualFlowM3s: number;
}

export type SourceShape =
  | { readonly kind: 'framed-tank'; readonly lengthM: number; readonly widthM: number; readonly depthM: number }
  /** Round self-supporting tank, narrower at the top. */
  | {
      readonly kind: 'frustum-tank';
      readonly baseRadiusM: number;
      readonly topRadiusM: number;
      readonly depthM: number;
    }
  /** Rows of a dip table, depth rising. */
  | { readonly kind: 'dipped-tank'; readonly depthsM: readonly number[]; readonly volumesM3: readonly number[] }
  | { readonly kind: 'open-water' };

export interface Pump {
  readonly id: string;
  readonly label: string;
  readonly kit: PumpKit;
  readonly source: string;
  /** Place it draws from, for a pump that boosts another's hose; null: the source itself. */
  readonly inlet: string | null;
  /** Place at the discharge outlet. */
  readonly outlet: string;
  /** Throttle as rigged, ratio to rated speed. */
  readonly speed: number;
  /** Discharge pressure that its governor holds; null: the throttle is set by hand. */
  readonly holdsPa: number | null;
  /** Relief valve at the outlet: opens above this pressure into the open through this bore; null: none. */
  readonly relief: { readonly opensPa: number; readonly boreM: number } | null;
  /** Height of the pump's eye above the site's datum. */
  readonly elevationM: number;
  readonly suctionHose: HoseKit;
  readonly suctionLengthM: number;
  /** Loss factor of strainer, foot valve and bends, on the velocity head of the suction hose. */
  readonly suctionLossFactor: number;
  /** A non-return valve at the outlet: the lay does not drain back when the pump stops. */
  readonly checkValve: boolean;
  /** Usable fuel when full. */
  readonly fuelCapacityM3: number;
  /** From asking for fuel until the can is in the tank. */
  readonly refillS: number;
}

export interface Hose {
  readonly id: string;
  readonly label: string;
  readonly kit: HoseKit;
  readonly from: string;
  readonly to: string;
  readonly lengthM: number;
  /** Sum of loss factors of its couplings and fittings, on the hose's own velocity head. */
  readonly fittingLossFactor: number;
  /** Water passes from `from` to `to` only. */
  readonly checkValve: boolean;
  /** The line it belongs to; null: trunk. */
  readonly line: string | null;
}

/** A valve that somebody can shut: a thief, a gated wye. A short link with a loss of its own. */
export interface Gate {
  readonly id: string;
  readonly label: string;
  readonly from: string;
  readonly to: string;
  readonly boreM: number;
  /** Loss factor when fully open, on the velocity head of `boreM`. */
  readonly openLossFactor: number;
  /** 0 shut .. 1 open, as rigged. */
  readonly opening: number;
  readonly line: string | null;
}

/** A branch that protects something: everything behind one gate. */
export interface Line {
  readonly id: string;
  readonly label: string;
}

/** One head position. It keeps its name and history when the head itself is swapped. */
export interface Head {
  readonly id: string;
  /** What the crew calls it: 'NE gable', 'front eave 2'. */
  readonly label: string;
  readonly kit: HeadKit;
  /** Place where its feeder leaves the line. */
  readonly at: string;
  readonly feeder: HoseKit;
  readonly feederLengthM: number;
  /** Height of the nozzle above the site's datum. */
  readonly elevationM: number;
  readonly xM: number;
  readonly yM: number;
  readonly line: string;
  readonly structure: string;
  readonly mount: Mount;
  readonly zone: Zone;
  /** Part circle between stops; 360 for a full circle. */
  readonly arcDeg: number;
  /** Which way the middle of the arc looks, degrees clockwise from north. */
  readonly facingDeg: number;
}

export const MOUNTS = ['ground-spike', 'gable-bracket', 'post', 'gutter', 'ridge', 'deck'] as const;
export type Mount = (typeof MOUNTS)[number];

export const ZONES = ['roof', 'eave', 'ground'] as const;
export type Zone = (typeof ZONES)[number];

export interface Structure {
  readonly id: string;
  readonly label: string;
  /** Corners in plan, metres. */
  readonly outlineM: readonly (readonly [number, number])[];
  readonly priority: number;
}

/**
 * `pulse`: pressure in short bursts of fast samples, for the beat of impact heads; its interval is from burst to burst.
 * `motion`: the same of how a riser or line end shakes.
 */
export const QUANTITIES = ['pressure', 'flow', 'rotation', 'level', 'fuel', 'temperature', 'pulse', 'motion'] as const;
export type Quantity = (typeof QUANTITIES)[number];

/** Where a sensor sits. Pressures are gauge at the sensor's own height. */
export type Mounting =
  | { readonly kind: 'place'; readonly place: string }
  | { readonly kind: 'suction'; readonly pump: string }
  | { readonly kind: 'discharge'; readonly pump: string }
  | { readonly kind: 'pump'; readonly pump: string }
  | { readonly kind: 'source'; readonly source: string }
  | { readonly kind: 'air' };

/** One measured channel. `id` is the channel's name everywhere in the house. */
export interface Sensor {
  readonly id: string;
  readonly label: string;
  readonly quantity: Quantity;
  readonly mounting: Mounting;
  /** The line whose end it watches, if it does. */
  readonly line: string | null;
  /** Who sends it: topic `wetdown/<site>/<device>/senml`. */
  readonly device: string;
  /** Last part of the SenML name. */
  readonly record: string;
  /** Measuring range in SI. */
  readonly min: number;
  readonly max: number;
  /** One standard deviation of a single reading, SI: noise, not offset. */
  readonly noiseSd: number;
  /** One standard deviation of its standing offset before any baseline, SI. */
  readonly offsetSd: number;
  /** Time between readings as agreed with the device. */
  readonly intervalS: number;
}
