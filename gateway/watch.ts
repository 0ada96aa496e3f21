/**
 * The pure core: readings, entries and time come in, pictures go out. No clock, file, socket or dice inside.
 * (Contract; the stages are filled in by the diagnosis work.)
 */
import type { Layout } from '../config/layout.ts';
import type { Entry, Picture } from '../config/wire.ts';
import type { Reading } from './telemetry/reading.ts';

export interface Watch {
  /** Files a reading. Order of calls is the order of arrival. */
  take(reading: Reading): void;
  /** A person's entry at `atMs`. Returns an error sentence, or null when it was taken. */
  enter(entry: Entry, atMs: number): string | null;
  /** Moves time on to `nowMs`, frame by whole second; returns the newest picture, or null if no second passed. */
  advance(nowMs: number): Picture | null;
}

export type CreateWatch = (layout: Layout, options: { readonly simulated: boolean }) => Watch;
