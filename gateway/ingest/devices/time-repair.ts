/**
 * At which time a reading is filed. Decided here, once, so that record, charts, exports and diagnosis agree.
 *
 * In: what one device's packets say of the time, and when they came in (the run's clock, ms). Out: the time to file
 * at, and what the device said. The least lag seen is the most that its clock can be behind. A greater lag is a
 * backlog, unless the device's own time went back: then five deliveries of equal lag are a slow clock. A clock ahead,
 * or days off, was never set: its own seconds count from its soonest packet. A retained packet without a believable
 * time is not filed. Limits: four readings of a slow clock keep its time; who loses time while silent looks like a
 * backlog; who is first heard while it works off a backlog no faster than it measures looks slow.
 */
import type { SenmlTime } from '../payloads/senml.ts';

export interface Placed {
  readonly atMs: number;
  /** What the device's clock said, or null when it said nothing absolute, or no date. */
  readonly deviceMs: number | null;
  /** The device gave a date that can be believed: the same bytes can only be the same packet. */
  readonly dated: boolean;
}

/** Judgement: radio links and clocks set by hand are seconds off; a backlog longer than two days is no longer news. */
export const AHEAD_MAX_MS = 5_000;
export const BEHIND_MAX_MS = 48 * 3_600_000;
/**
 * Judgement: so many deliveries in a row that are as late as each other, to this, and late enough to look stale one
 * day: a slow clock, or a road as slow.
 */
export const CLOCK_READINGS = 5;
export const CLOCK_SPREAD_MS = 2_500;
export const CLOCK_OFF_MS = 5_500;
/** Beyond it there is no date (ECMAScript time values), and soon no whole number that the record can hold. */
const CALENDAR_ENDS_MS = 8.64e15;
/**
 * Judgement: a clock that was never set runs true to a thousandth, and no clock drifts by more. Over a silence it is
 * only let drift for so long, or the backlog that follows would be taken for drift.
 */
const DRIFT = 1e-3;
const DRIFT_OVER_MS = 60_000;
/** Judgement: less than the first is a doublet; more than the second is no packet that overtook another on the road. */
const BACK_MS = 1_000;
const OVERTAKES_MS = 10_000;
/** Judgement: what comes within this came in one go, and only the newest of it says anything of the clock. */
const TOGETHER_MS = 500;

/** One channel of the device: what it said last, and how late its last deliveries were. */
interface Row {
  /** Newest time that it gave, since it last went back. */
  newestMs: number;
  receivedMs: number;
  readonly lagsMs: number[];
  /** Its lag may be its clock's: nothing was heard before, or its time has gone back. */
  doubted: boolean;
  /** Times that were never heard, because it was silent: what comes from there is a backlog. */
  gap: { readonly fromMs: number; readonly toMs: number } | null;
}

/** The clock of one device. */
export class ClockRepair {
  readonly #rows = new Map<string, Row>();
  /** How far the clock is behind at most, less than zero: ahead. Null: not known yet. */
  #lagMs: number | null = null;
  #receivedMs = 0;
  #slack = 1;

  /** By how much its readings are put right, ms; 0: they are not. */
  get putRightMs(): number {
    if (this.#lagMs === null) return 0;
    const isRight = this.#lagMs >= -AHEAD_MAX_MS * this.#slack && this.#lagMs <= CLOCK_OFF_MS * this.#slack;
    return isRight ? 0 : this.#lagMs;
  }

  /**
   * The newest time of a channel in a live packet; to be told before the packet's readings are placed. `clockSpeed`: of
   * a simulated run, whose clock is only known from beat to beat.
   */
  hear(channel: string, deviceMs: number, receivedMs: number, clockSpeed: number): void {
    this.#slack = Math.max(1, clockSpeed);
    const row = this.#rows.get(channel) ?? this.#open(channel);
    const lagMs = receivedMs - deviceMs;
    const backMs = row.newestMs - deviceMs;
    if (row.gap && deviceMs > row.gap.fromMs && deviceMs < row.gap.toMs && backMs > 0) return;
    if (backMs > BACK_MS) {
      row.doubted = true;
      row.lagsMs.length = 0;
      row.newestMs = deviceMs;
    } else if (-backMs > OVERTAKES_MS && receivedMs - row.receivedMs > -backMs - CLOCK_SPREAD_MS * this.#slack)
      row.gap = { fromMs: row.newestMs, toMs: deviceMs };
    row.newestMs = Math.max(row.newestMs, deviceMs);
    const together = receivedMs - row.receivedMs < TOGETHER_MS && row.lagsMs.length > 0;
    if (together) row.lagsMs.push(Math.min(row.lagsMs.pop()!, lagMs));
    else {
      row.receivedMs = receivedMs;
      if (row.lagsMs.push(lagMs) > CLOCK_READINGS) row.lagsMs.shift();
    }
    this.#judge(row, lagMs, backMs);
    const sinceMs = Math.min(DRIFT_OVER_MS, Math.max(0, receivedMs - this.#receivedMs));
    if (this.#lagMs !== null && !row.doubted && lagMs > this.#lagMs)
      this.#lagMs = Math.min(lagMs, this.#lagMs + DRIFT * sinceMs);
    this.#receivedMs = receivedMs;
  }

  /** Null: it cannot be filed. */
  place(time: SenmlTime, receivedMs: number, retained: boolean, clockSpeed: number): Placed | null {
    const aheadMaxMs = AHEAD_MAX_MS * Math.max(1, clockSpeed);
    const isLikely = (ms: number): boolean => ms <= receivedMs + aheadMaxMs && ms >= receivedMs - BEHIND_MAX_MS;
    const deviceMs = saidMs(time, clockSpeed);
    if (deviceMs === null) {
      const claimedMs = time.kind === 'relative' ? receivedMs + time.offsetMs : receivedMs;
      return retained
        ? null
        : { atMs: Math.round(isLikely(claimedMs) ? claimedMs : receivedMs), deviceMs, dated: false };
    }
    const dated = time.kind === 'absolute' && isLikely(deviceMs);
    if (retained && !dated) return null;
    const atMs = deviceMs + this.putRightMs;
    // What a clock that is known says of the day before yesterday is not of now.
    const isUsed = isLikely(atMs) || (atMs < receivedMs && this.#lagMs !== null);
    return { atMs: Math.round(isUsed ? atMs : receivedMs), deviceMs, dated };
  }

  #open(channel: string): Row {
    const row: Row = { newestMs: -Infinity, receivedMs: -Infinity, lagsMs: [], doubted: true, gap: null };
    this.#rows.set(channel, row);
    return row;
  }

  #judge(row: Row, lagMs: number, backMs: number): void {
    const knownMs = this.#lagMs;
    const [off, spread] = [CLOCK_OFF_MS * this.#slack, CLOCK_SPREAD_MS * this.#slack];
    const wild = lagMs > BEHIND_MAX_MS || lagMs < -AHEAD_MAX_MS * this.#slack;
    const settle = (toMs: number | null): void => {
      this.#lagMs = toMs;
      row.doubted = toMs === null;
    };
    if (knownMs !== null && lagMs < knownMs) {
      // Set right, or less far off; in between it may be a backlog that is worked off.
      const falling = lagMs > off && !wild && lagMs < knownMs - spread;
      settle(falling ? null : lagMs);
    } else if (!row.doubted) return;
    else if (lagMs <= off || (wild && (knownMs === null || backMs > OVERTAKES_MS))) settle(lagMs);
    else if (knownMs !== null && lagMs <= knownMs + spread) row.doubted = false;
    else if (!wild && isEven(row.lagsMs, spread)) settle(Math.min(...row.lagsMs));
  }
}

function isEven(lagsMs: readonly number[], spreadMs: number): boolean {
  return lagsMs.length === CLOCK_READINGS && Math.max(...lagsMs) - Math.min(...lagsMs) < spreadMs;
}

/**
 * What a device's clock says; null: nothing, or no date. Nothing is measured in the future: seconds 'from now' that
 * many are seconds since 1970, of a clock that was never set.
 */
export function saidMs(time: SenmlTime, clockSpeed: number): number | null {
  if (time.kind === 'relative')
    return time.offsetMs > AHEAD_MAX_MS * Math.max(1, clockSpeed) ? Math.round(time.offsetMs) : null;
  return time.kind === 'absolute' && Math.abs(time.atMs) <= CALENDAR_ENDS_MS ? time.atMs : null;
}
