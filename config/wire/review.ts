/**
 * What a look back on a run tells: figures, one time line, and how the flags compare with what the crew found.
 *
 * Made by gateway/review from the record, read by the screen and written into exports. SI; times in ms on the run's
 * clock; `null` is not known and never stands for zero. Shares are 0..1.
 */
import type { Find } from '../causes/causes.ts';
import type { Zone } from '../layout/layout.ts';
import type { TruthEntry } from './truth.ts';
import type { Cause, LineState, Priority } from './wire.ts';

/** Seconds since it was first more than rigged. Unknown is never up; a stretch without a record is unknown. */
export interface UpTime {
  readonly kind: 'line' | 'structure' | 'head';
  readonly id: string;
  readonly upS: number;
  readonly shortS: number;
  readonly downS: number;
  readonly unknownS: number;
  readonly fillingS: number;
  readonly shutS: number;
  /** Of all these; null: it was never more than rigged. */
  readonly upShare: number | null;
}

export interface StructureWater {
  readonly structure: string;
  readonly firstWaterMs: number | null;
  readonly receivedM3: number | null;
  readonly dryS: number | null;
  readonly shortS: number | null;
  readonly unknownS: number | null;
  /**
   * From first water to the front that people entered; null: no front was entered, or no water came. Negative: water
   * came after it.
   */
  readonly leadS: number | null;
}

/** Water of one zone while its heads could be seen, over the ground that they reach. */
export interface ZoneWater {
  readonly structure: string;
  readonly zone: Zone;
  readonly areaM2: number;
  readonly volumeM3: number;
  readonly depthM: number;
  /** While nobody could say: water may have run that is not counted. */
  readonly unknownS: number;
}

export interface PumpFigures {
  readonly pump: string;
  readonly runS: number;
  readonly fillingS: number;
  readonly shutInS: number;
  readonly unknownS: number;
  readonly starts: number;
  readonly fuelUsedM3: number | null;
  readonly refuelled: number;
}

export interface TankFigures {
  readonly source: string;
  readonly leastM3: number | null;
  readonly leastMs: number | null;
  readonly firstM3: number | null;
  readonly lastM3: number | null;
}

/** Targets are those of ISA-18.2 (2016), table of alarm performance, from memory. */
export interface RunLoad {
  readonly alarms: number;
  readonly hours: number;
  readonly perHour: number;
  readonly worstHour: number;
  readonly worstTenMinutes: number;
  readonly priorities: readonly {
    readonly priority: Priority;
    readonly count: number;
    readonly share: number;
    readonly target: number | null;
  }[];
  readonly chattering: number;
  readonly stale: number;
  readonly medianAcknowledgeS: number | null;
  readonly worstAcknowledgeS: number | null;
  readonly neverAcknowledged: number;
}

export interface ChannelQuality {
  readonly channel: string;
  readonly readings: number;
  readonly expected: number;
  readonly share: number;
  readonly gaps: number;
  readonly gapS: number;
  readonly longestGapS: number;
  readonly outOfRange: number;
  readonly late: number;
}

export interface Stretch {
  readonly fromMs: number;
  readonly toMs: number;
}

export interface Figures {
  readonly fromMs: number;
  readonly toMs: number;
  readonly holes: readonly Stretch[];
  readonly upTimes: readonly UpTime[];
  readonly structures: readonly StructureWater[];
  readonly zones: readonly ZoneWater[];
  readonly pumps: readonly PumpFigures[];
  readonly tanks: readonly TankFigures[];
  readonly load: RunLoad;
  readonly channels: readonly ChannelQuality[];
  readonly rejected: readonly { readonly reason: string; readonly count: number }[];
}

export interface ClassRow {
  readonly what: Find;
  readonly found: number;
  readonly flagged: number;
  readonly missed: number;
  readonly namedRight: number;
  readonly medianLagS: number | null;
  readonly worstLagS: number | null;
}

/** How the alarms of one cause turned out. `unsaid`: nobody has said what was there. */
export interface AlarmFates {
  readonly cause: Cause;
  readonly alarms: number;
  readonly right: number;
  readonly otherName: number;
  readonly refuted: number;
  readonly unsaid: number;
}

export interface DetectionFigures {
  readonly found: readonly {
    readonly number: number;
    readonly alarm: string | null;
    readonly lagS: number | null;
    readonly acknowledgeS: number | null;
    readonly namedRight: boolean;
    readonly placeNamed: boolean;
  }[];
  readonly classes: readonly ClassRow[];
  /** Classes that pressure and flow cannot show. */
  readonly unseen: readonly ClassRow[];
  readonly alarms: readonly AlarmFates[];
}

export interface AlarmSpan {
  readonly id: string;
  readonly cause: Cause;
  readonly subject: string;
  readonly place: string | null;
  readonly priority: Priority;
  readonly headline: string;
  readonly raisedMs: number;
  readonly acknowledgedMs: number | null;
  readonly acknowledgedBy: string | null;
  readonly clearedMs: number | null;
  readonly goneMs: number | null;
}

export interface Timeline {
  readonly lines: readonly {
    readonly line: string;
    readonly spans: readonly (Stretch & { readonly state: LineState })[];
  }[];
  readonly alarms: readonly AlarmSpan[];
  /** What people did, and what the gateway noted by itself (`by` null). */
  readonly deeds: readonly {
    readonly atMs: number;
    readonly words: string;
    readonly by: string | null;
    readonly refused: boolean;
  }[];
  readonly truth: readonly TruthEntry[];
}

/** Answer of `GET /api/review`. */
export interface Review {
  readonly run: string;
  readonly simulated: boolean;
  readonly replay: boolean;
  readonly software: string;
  readonly layoutRevision: number;
  readonly layoutFingerprint: string;
  readonly figures: Figures;
  readonly timeline: Timeline;
  readonly detection: DetectionFigures;
}
