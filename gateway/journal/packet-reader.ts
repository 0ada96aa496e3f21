/**
 * How many packets a run's file holds, by what became of them.
 *
 * In: the file of a run, open. Out: counts by verdict and topic; numbers of packets. Times are milliseconds on the
 * run's clock. Limit: the packets themselves are read in the order of receipt, by `history.ts`.
 */
import type { ReadOnlyFile } from './read-only-file.ts';

export interface PacketCount {
  readonly block: number;
  readonly topic: string;
  readonly verdict: string;
  readonly count: number;
  readonly lastMs: number;
}

/** Strangers may have sent any number of topics: those are not told apart. */
const OWN_TOPIC = "case when verdict in ('readings', 'status') then topic else '' end";

export class PacketReader {
  readonly #file: ReadOnlyFile;

  constructor(file: ReadOnlyFile) {
    this.#file = file;
  }

  /** Packets by verdict, those of known devices by topic too, in blocks of so many numbers. */
  counts(blockSize: number): PacketCount[] {
    return this.#file.all<PacketCount>(
      `select number / ${blockSize} as block, ${OWN_TOPIC} as topic, verdict, count(*) as count, ` +
        'max(received_ms) as lastMs from packet group by 1, 2, 3',
    );
  }

  /** The same of the packets with these numbers, both included. */
  between(first: number, last: number): PacketCount[] {
    return this.#file.all<PacketCount>(
      `select 0 as block, ${OWN_TOPIC} as topic, verdict, count(*) as count, max(received_ms) as ` +
        'lastMs from packet where number between ? and ? group by 2, 3',
      first,
      last,
    );
  }

  /** Number of the last packet received before a moment; 0: none. Numbers rise with the time of receipt. */
  lastBy(atMs: number): number {
    let low = 0;
    let high = this.#file.one<{ last: number | null }>('select max(number) as last from packet')?.last ?? 0;
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      const row = this.#file.one<{ ms: number }>(
        'select received_ms as ms from packet where number <= ? order by number desc limit 1',
        middle,
      );
      if (row && row.ms < atMs) low = middle;
      else high = middle - 1;
    }
    return low;
  }
}
