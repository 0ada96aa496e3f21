/**
 * A record with just what a test puts into it, opened again as one that is looked back on.
 *
 *   const record = smallRecord(folder, layout, START_MS, (put) => put.reading('end-a', 0, 3e5));
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { openRun, type RunReader } from '../../gateway/journal/run-reader.ts';

export interface Put {
  /** Measured so many seconds after the start and received `lateS` later. */
  reading(channel: string, second: number, value: number, lateS?: number): void;
  picture(picture: Picture): void;
}

export function smallRecord(folder: string, layout: Layout, startMs: number, fill: (put: Put) => void): RunReader {
  const journal = new Journal(folder, {
    layout,
    layoutText: '',
    software: 'test-1',
    simulated: false,
    startedMs: startMs,
    startedWallMs: startMs,
  });
  fill({
    reading: (channel, second, value, lateS = 0) => {
      const atMs = Math.round(startMs + 1_000 * second);
      const receivedMs = atMs + 1_000 * lateS;
      const packet = journal.packet({
        receivedMs,
        receivedWallMs: receivedMs,
        topic: channel,
        payload: Buffer.from('[]'),
        retained: false,
        verdict: 'readings',
      });
      journal.reading({ channel, value, atMs, receivedMs, deviceMs: null, grade: 'good' }, true, packet ?? 0);
    },
    picture: (picture) => journal.picture(picture),
  });
  journal.close();
  const opened = openRun(journal.path);
  if (!opened.ok) throw new Error(opened.why);
  return opened.reader;
}
