/**
 * What the gateway tells a screen: the picture of the site at one moment, and the words that go with it.
 *
 * Made once a second by the pure core, journalled, sent over the WebSocket, replayed. Numbers are SI; `null` is
 * 'not known' and never stands for zero. Times are milliseconds since 1970 UTC, on the run's own clock.
 */
import type { Cause } from '../causes/causes.ts';
import type { Priority } from '../causes/row.ts';
import type { Mode } from '../modes.ts';
import type { RhythmPicture, ShockPicture } from './bursts.ts';
import type { Quantity, Zone } from '../layout/layout.ts';

export type { Cause, Priority };

export type Freshness = 'fresh' | 'late' | 'stale' | 'never';

export type LineState =
  | 'rigged-dry'
  | 'filling'
  | 'as-modelled'
  /** Runs, and its heads are in range, but not as modelled: `why` says what that is put down to. */
  | 'changed'
  /** Some of its heads, not all, are under the pressure that turns them, or dry. */
  | 'running-short'
  /** Some of its heads are past the pressure that they survive. */
  | 'running-over'
  /** Failed: not one of its heads has the pressure that turns it. */
  | 'down'
  | 'shut-by-order'
  | 'unknown';

export type PumpState = 'stopped' | 'starting' | 'running' | 'dead-head' | 'unknown';

export interface ChannelPicture {
  readonly channel: string;
  readonly quantity: Quantity;
  readonly value: number | null;
  /** Measurement time of `value`. */
  readonly atMs: number | null;
  readonly freshness: Freshness;
  /** Why the value is not to be trusted, or null. */
  /** 'over-range': past the upper end of its range, so that its value is 'at least'. */
  readonly doubt: 'stuck' | 'out-of-range' | 'over-range' | 'drifting' | null;
  /** Model's expectation and the band (about 99.7 %) that measured values should stay in; null: none can be given. */
  readonly expected: number | null;
  readonly low: number | null;
  readonly high: number | null;
}

/** What of a channel may be newer than the picture: the measured value, and nothing that was concluded from it. */
export type ChannelNews = Pick<ChannelPicture, 'channel' | 'value' | 'atMs' | 'freshness' | 'doubt'>;

export interface HeadPicture {
  readonly head: string;
  /**
   * What is believed of the head. 'flowing' is not 'turning'; 'above-range' turns too fast and breaks its water up;
   * 'over-pressure' is more than it survives.
   */
  readonly state: 'dry' | 'flowing' | 'short' | 'off?' | 'plugged?' | 'above-range' | 'over-pressure' | 'unknown';
  /** Modelled, at the nozzle. */
  readonly pressurePa: number | null;
  readonly flowM3s: number | null;
  /** Last time a person said that they saw it turn. */
  readonly seenTurningMs: number | null;
}

interface GatePicture {
  readonly gate: string;
  /** 0 shut .. 1 open: as rigged, or as people have told since. Nobody measures it. */
  readonly opening: number;
}

/** The heads of one line or structure: how many stand outside their range, and how many nobody can say. */
export interface HeadCount {
  readonly total: number;
  /** Under turning pressure. */
  readonly low: number;
  /** Without water though they should have it; `idle`: without water because people want it so. */
  readonly dry: number;
  readonly idle: number;
  readonly over: number;
  readonly unknown: number;
}

export interface LinePicture {
  readonly line: string;
  readonly state: LineState;
  /** One clause: why this state. */
  readonly why: string;
  /** Absent in older records. */
  readonly heads?: HeadCount;
  /** While unknown: the state it had when it was last known. */
  readonly last?: LineState;
}

export interface StructurePicture {
  readonly structure: string;
  readonly state: LineState;
  readonly why: string;
  /** Its own heads, whatever else hangs on their lines. Absent in older records. */
  readonly heads?: HeadCount;
  /** While unknown: the state it had when it was last known. */
  readonly last?: LineState;
  /** What its heads give, and how much of that through heads with the pressure that turns them (older records: not). */
  readonly flowM3s: number | null;
  readonly spreadM3s?: number | null;
  /** Since water first ran there in this run; null: no books are kept (the diagnosis does not work). */
  readonly tally: StructureTally | null;
}

export interface StructureTally {
  /** First time that any of its heads gave water; null: not yet. */
  readonly sinceMs: number | null;
  /** What its heads gave while they could be seen and had the pressure that turns them. */
  readonly receivedM3: number;
  /**
   * What they gave without it, or while they may have been off or plugged: in no depth. Older records: in the above.
   */
  readonly unspreadM3?: number;
  /** What it received as mean depth over the circles of its heads: no overlap, no wind. */
  readonly depthM: number;
  /** Seconds in which no head of it gave water; in which some did, none with the pressure that turns it. */
  readonly dryS: number;
  readonly lowS?: number;
  /** In which some heads, not all, gave none or too little; in which nobody can say. */
  readonly shortS: number;
  readonly unknownS: number;
  /** The same by zone: ground that any of its heads reaches, overlaps once, and what was put on it. */
  readonly zones: readonly { readonly zone: Zone; readonly areaM2: number; readonly receivedM3: number }[];
}

export interface Estimate {
  readonly best: number;
  readonly low: number;
  readonly high: number;
}

export interface SupplyPicture {
  readonly source: string;
  readonly volumeM3: number | null;
  readonly usableM3: number | null;
  /** Rate of change of the volume seen in the level, m3/s, and what the flow meter says leaves. */
  readonly trendM3s: number | null;
  readonly filling: boolean;
  /** Seconds until the suction runs dry; null: unknown or not falling. */
  readonly emptyInS: Estimate | null;
  /**
   * The head that falls first below the pressure that turns it as the level falls, and when; null: unknown, not
   * falling, or none before the suction runs dry.
   */
  readonly firstShort: { readonly head: string; readonly inS: Estimate } | null;
}

export interface PumpPicture {
  readonly pump: string;
  readonly state: PumpState;
  readonly dischargePa: number | null;
  readonly suctionPa: number | null;
  readonly flowM3s: number | null;
  readonly rotationHz: number | null;
  readonly fuelM3: number | null;
  readonly fuelLeftS: Estimate | null;
}

export interface Evidence {
  readonly channel: string;
  readonly measured: number;
  readonly expected: number;
  /** Half-width of the band that the reading should have stayed in. */
  readonly tolerance: number;
}

export interface Verdict {
  /** Stable while the same trouble lasts. */
  readonly id: string;
  readonly cause: Cause;
  /** Line, pump, source or channel it is about; `places` narrows it down. */
  readonly subject: string;
  readonly subjectKind: 'line' | 'trunk' | 'pump' | 'source' | 'channel' | 'site';
  /** The set of heads, hoses or places that cannot be told apart, likeliest first, with shares summing to <= 1. */
  readonly places: readonly { readonly id: string; readonly probability: number }[];
  readonly sinceMs: number;
  readonly probability: number;
  /** What it costs: outflow change in m3/s, or null. */
  readonly sizeM3s: Estimate | null;
  readonly evidence: readonly Evidence[];
  /** Other explanations, in words, with their probability. */
  readonly alternatives: readonly { readonly words: string; readonly probability: number }[];
  readonly headline: string;
  /** The cheapest thing that would confirm it. */
  readonly check: string;
  /** What keeps people from harm: said first, wherever this is told; null: no hazard to people is near. */
  readonly warning: string | null;
  /** What holds for whoever is sent by check, ask or carry; null: this sends nobody. */
  readonly caution: string | null;
  /**
   * The one look or move that would tell the explanations apart best for its cost; null: they are, or nothing here
   * would.
   */
  readonly ask: string | null;
  readonly carry: readonly string[];
  /** One sentence for the radio. */
  readonly radio: string;
}

export interface Alarm {
  readonly verdict: Verdict;
  readonly priority: Priority;
  /** One clause: why this priority. Empty in records from before it was told. */
  readonly reason: string;
  readonly state: 'unacknowledged' | 'acknowledged' | 'returned-unacknowledged' | 'shelved' | 'suppressed';
  readonly raisedMs: number;
  readonly clearedMs: number | null;
  readonly acknowledgedBy: string | null;
}

/**
 * An alarm that stands and is not annunciated: put on the shelf by a person, or held back by a mode. Ends by itself.
 */
export interface AsideAlarm extends Alarm {
  readonly state: 'shelved' | 'suppressed';
  readonly aside: { readonly by: string; readonly why: string; readonly untilMs: number };
}

/** How much the alarms ask of whoever looks after them. Counted: each time one is annunciated, in this run. */
export interface AlarmLoad {
  readonly sinceMs: number;
  readonly lastHour: number;
  /** In any sixty minutes of this run, and when those ended. */
  readonly worstHour: number;
  readonly worstHourMs: number | null;
  readonly standing: number;
  /** Standing for more than a day. */
  readonly stale: number;
  /** Annunciated three times within a minute, in this run: their ids. */
  readonly chattering: readonly string[];
  readonly byPriority: Readonly<Record<Priority, number>>;
}

export interface Note {
  readonly atMs: number;
  readonly words: string;
  /** Initials of the person, or null when the gateway noticed it. */
  readonly by: string | null;
}

export interface Picture {
  readonly atMs: number;
  readonly simulated: boolean;
  /** Diagnosis can fail while readings go on: then raw values and limits stay. */
  readonly advice:
    { readonly working: true } | { readonly working: false; readonly sinceMs: number; readonly why: string };
  readonly baseline: {
    readonly atMs: number;
    readonly by: string;
    readonly words: string;
    /** What the readings pinned down, and what they cannot tell apart: a sentence each. */
    readonly learned: readonly string[];
    readonly alike: readonly string[];
  } | null;
  /** Whole seconds that the pumps have held still, and must before a baseline; null: not known. */
  readonly steady: { readonly heldS: number; readonly neededS: number } | null;
  readonly mode: { readonly name: Mode; readonly untilMs: number; readonly by: string } | null;
  readonly channels: readonly ChannelPicture[];
  /**
   * Channels outside their band by the mean of their last seconds: what states and words go by, for one reading in some
   * hundreds strays by chance. Absent in older records.
   */
  readonly outside?: readonly { readonly channel: string; readonly side: 'below' | 'above' }[];
  readonly pumps: readonly PumpPicture[];
  readonly supplies: readonly SupplyPicture[];
  readonly lines: readonly LinePicture[];
  readonly structures: readonly StructurePicture[];
  readonly heads: readonly HeadPicture[];
  readonly gates: readonly GatePicture[];
  /** Newest first; only of lines with a fast sensor. */
  readonly shocks: readonly ShockPicture[];
  readonly rhythms: readonly RhythmPicture[];
  readonly alarms: readonly Alarm[];
  readonly setAside: readonly AsideAlarm[];
  /** Null: no books are kept (the diagnosis does not work). */
  readonly alarmLoad: AlarmLoad | null;
  readonly notes: readonly Note[];
  /** Sentences: what cannot be seen here now. */
  readonly blind: readonly string[];
}
