/**
 * Where the feed stood at a moment of a recorded run: which device had been heard, how often, what had been refused.
 *
 * In: the run's record. Out: the feed's picture for the screen *Devices*. Packets are counted once in blocks when the
 * record is opened, so that any moment costs one block. Limit: unknown devices' last packets and the wording of
 * refusals are not told again; the connection to the broker is not in the record.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { PacketCount } from '../journal/packet-reader.ts';
import type { RunReader } from '../journal/run-reader.ts';

const BLOCK = 20_000;

export class FeedThen {
  readonly #record: RunReader;
  readonly #layout: Layout;
  readonly #blocks: readonly PacketCount[];

  constructor(layout: Layout, record: RunReader) {
    this.#record = record;
    this.#layout = layout;
    this.#blocks = record.packets.counts(BLOCK);
  }

  at(atMs: number): FeedPicture {
    const last = this.#record.packets.lastBy(atMs);
    const block = Math.floor(last / BLOCK);
    const counts = [
      ...this.#blocks.filter((one) => one.block < block),
      ...this.#record.packets.between(block * BLOCK, last),
    ];
    const devices = [...new Set(this.#layout.sensors.map(({ device }) => device))].map((device) => {
      const own = counts.filter(({ topic }) => topic.split('/')[2] === device);
      return {
        device,
        online: null,
        lastMs: own.length === 0 ? null : Math.max(...own.map(({ lastMs }) => lastMs)),
        packets: sum(own),
        battery: null,
        clock: null,
        putRightMs: 0,
        lost: null,
        refused: [],
      };
    });
    const reasons = [...new Set(counts.map(({ verdict }) => verdict).filter((verdict) => verdict.includes('/')))];
    const rejected = reasons.map((reason) => {
      const own = counts.filter(({ verdict }) => verdict === reason);
      return {
        reason,
        count: sum(own),
        lastMs: Math.max(...own.map(({ lastMs }) => lastMs)),
        topic: '',
        detail: 'the packets themselves are in the record',
      };
    });
    return {
      broker: { address: 'the record of a run', state: 'connected', sinceMs: this.#record.header.startedMs },
      devices,
      rejected,
      unknownDevices: [],
      assigned: [],
      tares: [],
      journal: { state: 'writing', why: null, entries: { session: '', taken: 0, written: 0 } },
    };
  }
}

function sum(counts: readonly PacketCount[]): number {
  return counts.reduce((total, { count }) => total + count, 0);
}
