/**
 * What is known of each device of the layout as a device: packets, battery, clock, what was lost or refused, whether it
 * is online.
 *
 * In: its packets in order of arrival. Out: rows for the screen.
 */
import type { DevicePicture } from '../../../config/wire/feed.ts';
import type { Reading } from '../../core/telemetry/reading.ts';
import { DeviceClock } from './device-clock.ts';
import { DeviceLoss } from './device-loss.ts';
import { refusal, type Refusal } from '../refusal.ts';
import { ClockRepair } from './time-repair.ts';

interface Row extends Pick<DevicePicture, 'online' | 'lastMs' | 'packets' | 'battery'> {
  readonly clock: DeviceClock;
  readonly repair: ClockRepair;
  readonly loss: DeviceLoss;
  readonly refused: Map<string, number>;
}
type Open<Fixed> = { -readonly [Name in keyof Fixed]: Fixed[Name] };

/**
 * Units of what is left: the ratio and percentages of SenML (RFC 8428 section 12.1), and the ratio that old devices
 * send as '%'.
 */
const BATTERY_SHARES: ReadonlyMap<string | null, number> = new Map([
  ['/', 1],
  ['%', 1],
  ['%EL', 0.01],
  ['/100', 0.01],
]);

function freshRow(): Open<Row> {
  return {
    online: null,
    lastMs: null,
    packets: 0,
    battery: null,
    clock: new DeviceClock(),
    repair: new ClockRepair(),
    loss: new DeviceLoss(),
    refused: new Map(),
  };
}

export class DeviceBook {
  readonly #rows: Map<string, Open<Row>>;

  constructor(devices: readonly string[]) {
    this.#rows = new Map(devices.map((device) => [device, freshRow()]));
  }

  /** A device that was given a place. */
  add(device: string): void {
    if (!this.#rows.has(device)) this.#rows.set(device, freshRow());
  }

  knows(device: string): boolean {
    return this.#rows.has(device);
  }

  isHeard(device: string): boolean {
    return this.#rows.get(device)?.lastMs != null;
  }

  /** Its clock; one that nobody keeps a row of has none that could be learned. */
  repairOf(device: string): ClockRepair {
    return this.#rows.get(device)?.repair ?? new ClockRepair();
  }

  /** A retained packet says nothing of when the device spoke. */
  heard(device: string, receivedMs: number, retained: boolean): void {
    const row = this.#rows.get(device);
    if (!row) return;
    row.packets += 1;
    if (!retained) row.lastMs = receivedMs;
  }

  said(device: string, online: boolean): void {
    const row = this.#rows.get(device);
    if (row) row.online = online;
  }

  /** A record named battery, of a device that no sensor of the layout knows by that name. */
  battery(device: string, value: unknown, unit: string | null): Refusal | null {
    const row = this.#rows.get(device);
    const factor = BATTERY_SHARES.get(unit);
    if (typeof value !== 'number') return refusal('ingest/not-numeric', `battery is ${typeof value}`);
    const battery = unit === 'V' ? { volts: value } : factor !== undefined ? { share: value * factor } : null;
    if (battery === null)
      return refusal(
        unit === null ? 'ingest/no-unit' : 'ingest/unknown-unit',
        `battery in '${unit ?? ''}'; known: V, %EL, /`,
      );
    if ('share' in battery && !(battery.share >= 0 && battery.share <= 1))
      return refusal('ingest/not-a-ratio', `battery of ${value} ${unit ?? ''}`);
    if (row) row.battery = battery;
    return null;
  }

  /** Readings and refusals of one packet; `intervalMs`: how often a channel should speak. */
  took(
    device: string,
    readings: readonly Reading[],
    refused: readonly Refusal[],
    intervalMs: (channel: string) => number,
  ): void {
    const row = this.#rows.get(device);
    if (!row) return;
    for (const { reason } of refused) row.refused.set(reason, (row.refused.get(reason) ?? 0) + 1);
    // Of a batch the newest says most about the clock.
    let newest: Reading | null = null;
    for (const reading of readings) {
      row.loss.hear(reading.channel, intervalMs(reading.channel), reading.atMs, reading.receivedMs);
      if (reading.deviceMs !== null && reading.deviceMs > (newest?.deviceMs ?? -Infinity)) newest = reading;
    }
    if (newest?.deviceMs != null) row.clock.hear(newest.deviceMs, newest.receivedMs);
  }

  picture(nowMs: number, clockSpeed: number): readonly DevicePicture[] {
    return [...this.#rows].map(([device, { clock, repair, loss, refused, ...row }]) => ({
      device,
      ...row,
      clock: clock.picture(clockSpeed),
      putRightMs: Math.round(repair.putRightMs),
      lost: loss.share(nowMs),
      refused: [...refused].map(([reason, count]) => ({ reason, count })),
    }));
  }
}
