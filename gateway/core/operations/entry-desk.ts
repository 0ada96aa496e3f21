/**
 * A person's entry goes to what it concerns: alarms, gates, modes, inspections, gauges, the baseline.
 *
 * In: an entry and its time. Out: a sentence why it was not taken, or null. What is taken is noted in words.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import type { Entry } from '../../../config/wire/entry.ts';
import type { NetworkMonitor } from '../diagnosis/network-monitor.ts';
import type { Channel } from '../telemetry/channel.ts';
import type { BaselineDesk } from './baseline-desk.ts';
import type { Operations } from './operations.ts';

export type AlarmEntry = Extract<Entry, { kind: 'acknowledge' | 'shelve' | 'unshelve' }>;

export interface EntryParts {
  readonly layout: Layout;
  readonly channels: ReadonlyMap<string, Channel>;
  readonly operations: Operations;
  readonly monitor: NetworkMonitor;
  readonly baselines: BaselineDesk;
  readonly alarms: { enter(entry: AlarmEntry, atMs: number): string | null };
}

export class EntryDesk {
  readonly #parts: EntryParts;

  constructor(parts: EntryParts) {
    this.#parts = parts;
  }

  enter(entry: Entry, atMs: number): string | null {
    const { channels, operations, baselines, alarms } = this.#parts;
    switch (entry.kind) {
      case 'acknowledge':
      case 'shelve':
      case 'unshelve':
        return alarms.enter(entry, atMs);
      case 'mode':
        return operations.setMode(entry, atMs);
      case 'looked':
        return operations.looked(entry, atMs);
      case 'note':
        operations.note(entry.words, entry.by, atMs);
        return null;
      case 'gate':
        return operations.setGate(entry, atMs);
      case 'assign': {
        const { sensor, record, device, by } = entry;
        channels.get(sensor)?.setDevice(device);
        this.#regauge(sensor, `'${record}' of '${device}' measures there from now on`, by, atMs);
        return null;
      }
      case 'tare':
        this.#regauge(entry.sensor, 'its reading in open air is its zero from now on', entry.by, atMs);
        return null;
      case 'baseline':
        return baselines.take(entry, atMs);
    }
  }

  #regauge(sensorId: string, words: string, by: string, atMs: number): void {
    const { layout, operations, monitor, baselines } = this.#parts;
    const label = layout.sensors.find(({ id }) => id === sensorId)?.label ?? sensorId;
    monitor.regauge(sensorId, atMs);
    const band = baselines.taken ? '. Its band is wide until the next baseline' : '';
    operations.note(`${label}: ${words}${band}`, by, atMs);
  }
}
