/**
 * What a person is told of an entry that was taken: nothing more when it is on disk and takes effect, else what is not
 * so yet.
 *
 * In: the state of the journal just after it was asked to write, whether the core still works through its record. Out:
 * the answer; null when there is nothing to add. While the disk fails an entry is in memory only: a gateway that is
 * stopped then knows nothing of it when it starts again, and would call a gate that was shut by order a blocked line.
 */
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { EntryAnswer } from '../../config/wire/entry.ts';

export const STILL_READING = 'The gateway was started again and works through what was before.';
const NOTED_BUT =
  ' But it is not on disk yet: the disk fails, and it is lost if the gateway stops before the disk writes again.';
const NOT_ON_DISK =
  'Taken for now, but not on disk yet: the disk fails. It is lost if the gateway stops before the disk ' +
  'writes again. Write it down on paper too.';

/** Of an entry that was not taken, what is noted of it all the same is noted only once it is on disk. */
export function refusalOf(words: string, { state }: FeedPicture['journal']): string {
  return state === 'failed' && words.startsWith('Noted') ? words + NOTED_BUT : words;
}

export function entryAnswer({ entries }: FeedPicture['journal'], catchingUp: boolean): EntryAnswer | null {
  const { session, taken, written } = entries;
  const waits = written < taken ? { session, number: taken } : null;
  if (!waits && !catchingUp) return null;
  const effect = catchingUp
    ? `${STILL_READING} It takes effect ${waits ? 'once it is on disk' : 'in a moment'}.`
    : null;
  const words = [waits ? NOT_ON_DISK : 'Noted in the record.', effect].filter((part) => part !== null).join(' ');
  return { ok: true, words, ...(waits && { waits }) };
}
