/**
 * What is shown of the site: the newest picture with the feed beside it, and the state of the broker.
 *
 * In: pictures, the run that they are of, how the connection to the broker is. Out: picture and feed together, to
 * whoever shows them, and into the record.
 */
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Picture } from '../../config/wire/wire.ts';
import type { Arrivals } from './arrivals.ts';
import type { Run, RunParts } from './run.ts';

export interface Latest {
  readonly picture: Picture;
  readonly feed: FeedPicture;
}

export class Shown {
  readonly #show: RunParts['show'];
  readonly #arrivals: Arrivals;
  #broker: FeedPicture['broker'];
  #latest: Latest | null = null;

  constructor({ broker, show }: Pick<RunParts, 'broker' | 'show'>, arrivals: Arrivals, startedMs: number) {
    this.#show = show;
    this.#arrivals = arrivals;
    this.#broker = { address: broker, state: 'connecting', sinceMs: startedMs };
  }

  get latest(): Latest | null {
    return this.#latest;
  }

  get brokerState(): FeedPicture['broker']['state'] {
    return this.#broker.state;
  }

  connection(state: FeedPicture['broker']['state'], nowMs: number): void {
    this.#broker = { ...this.#broker, state, sinceMs: nowMs };
  }

  /** Another run has begun: nothing is shown of it yet. */
  begin(startedMs: number): void {
    this.#latest = null;
    this.#broker = { ...this.#broker, sinceMs: startedMs };
  }

  /** `recorded`: it is the core's own, and goes into the record. */
  picture(picture: Picture, { intake, journal, core }: Run, recorded: boolean): void {
    // What a core that has thrown counted since is not known: what was written before stands.
    if (recorded) journal.picture(picture, () => core.books(picture.atMs));
    const feed = {
      broker: this.#broker,
      devices: intake.devicesAt(picture.atMs),
      rejected: [...intake.rejected, ...this.#arrivals.told],
      unknownDevices: intake.unknownDevices,
      assigned: intake.assigned,
      tares: intake.tares,
      journal: journal.state,
    };
    this.#latest = { picture, feed };
    this.#show(picture, feed);
  }
}
