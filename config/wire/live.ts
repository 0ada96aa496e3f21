/** What the gateway sends to a screen: messages on the socket, and the rows of a chart. Times in ms since 1970 UTC. */
import type { FeedPicture } from './feed.ts';
import type { Layout } from '../layout/layout.ts';
import type { ReplayState } from './replay.ts';
import type { ChannelNews, Picture } from './wire.ts';

/** Messages on the WebSocket `/live`, server to screen. A picture out of the record always carries `replay`. */
export type LiveMessage =
  | {
      readonly type: 'site';
      readonly layout: Layout;
      readonly run: string;
      readonly build: string;
      readonly startedMs: number;
    }
  | { readonly type: 'picture'; readonly picture: Picture; readonly feed: FeedPicture; readonly replay?: ReplayState }
  /** Between pictures, several times a second: channels that were heard since. Never in a replay. */
  | { readonly type: 'values'; readonly simulated: boolean; readonly values: readonly ChannelNews[] };

/** Answer of `GET /api/series?channel=ID&from=MS&to=MS`: at most ~1500 rows, gaps as null. */
export interface Series {
  readonly channel: string;
  readonly atMs: readonly number[];
  readonly measured: readonly (number | null)[];
  readonly expected: readonly (number | null)[];
  readonly low: readonly (number | null)[];
  readonly high: readonly (number | null)[];
}
