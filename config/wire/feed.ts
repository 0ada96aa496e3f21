/**
 * Where the feed itself stands: broker, devices with their clocks and losses, refused packets, strangers, the journal.
 *
 * Made by the gateway's edge beside each picture; not known to the core. Values in SI, times in milliseconds since 1970
 * UTC.
 */

/** One device as a device, whatever it measures. */
export interface DevicePicture {
  readonly device: string;
  readonly online: boolean | null;
  readonly lastMs: number | null;
  readonly packets: number;
  /** As it reported: what is left of it, 0 to 1, or its voltage; null: it said nothing of a battery. */
  readonly battery: { readonly share: number } | { readonly volts: number } | null;
  /** Null: it has said no time of its own. */
  readonly clock: ClockPicture | null;
  /** Its readings are filed so much later than it says, because its clock is behind by that; 0: as it says. */
  readonly putRightMs: number;
  /** Share of the readings of the last ten minutes that never came; null: not known yet. */
  readonly lost: number | null;
  /** What was refused of it, by reason. */
  readonly refused: readonly { readonly reason: string; readonly count: number }[];
}

/**
 * A device's clock against the run's. Behind: by a steady amount; late: by different amounts, as a backlog is; wild: by
 * days, so never set or run over; jumping: now this, now that.
 */
export interface ClockPicture {
  readonly state: 'right' | 'behind' | 'late' | 'ahead' | 'wild' | 'jumping';
  /** What it says less what it is, at its newest packet. */
  readonly offMs: number;
}

/** What nobody has a place for, a row a record; without record where the packet held none that could be read. */
export interface StrangerPicture {
  readonly device: string;
  readonly record: string | null;
  readonly unit: string | null;
  /** Sensors of the layout that measure in such a unit. */
  readonly fits: readonly string[];
  readonly lastMs: number;
  readonly topic: string;
  readonly packet: string;
}

/** Who measures at a place, where that is not as the layout says. */
export interface AssignedPicture {
  readonly sensor: string;
  readonly device: string;
  readonly record: string;
  readonly by: string;
  readonly atMs: number;
}

/** What is taken off all readings of a gauge, because it read that in open air. */
export interface TarePicture {
  readonly sensor: string;
  readonly offsetPa: number;
  readonly by: string;
  readonly atMs: number;
}

/** Refused packets of one topic. */
export interface RefusedTopic {
  readonly topic: string;
  /** What would have been right; null: nothing right is near. */
  readonly hint: string | null;
  readonly count: number;
  readonly lastMs: number;
}

/** Where the feed itself stands; known to the gateway's edge, not to the core. */
export interface FeedPicture {
  readonly broker: {
    readonly address: string;
    readonly state: 'connected' | 'connecting' | 'lost';
    readonly sinceMs: number;
  };
  readonly devices: readonly DevicePicture[];
  /** Packets that were refused, by reason, and the newest of them. */
  readonly rejected: readonly {
    readonly reason: string;
    readonly count: number;
    readonly lastMs: number;
    readonly topic: string;
    readonly detail: string;
    /** Where the topic is what matters: the newest of them, as far as they are kept. */
    readonly topics?: readonly RefusedTopic[];
  }[];
  readonly unknownDevices: readonly StrangerPicture[];
  readonly assigned: readonly AssignedPicture[];
  readonly tares: readonly TarePicture[];
  readonly journal: {
    readonly state: 'writing' | 'failed';
    readonly why: string | null;
    /** People's entries in this journal since it was opened: how many were taken, and how many of those are on disk. */
    readonly entries: { readonly session: string; readonly taken: number; readonly written: number };
  };
}
