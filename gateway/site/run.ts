/**
 * One run of a site: its record, its core and what takes its packets in; and how one begins.
 *
 * In: the site, what makes a core and opens a record, the run's clock. Out: a run. A start goes on with the run that
 * was left a while ago: what was known of single packets is there at once, what the core knew comes with the rebuild.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { RawTier } from '../core/raw-picture.ts';
import type { Watch } from '../core/watch.ts';
import type { RunClock } from '../ingest/devices/run-clock.ts';
import { Intake } from '../ingest/intake.ts';
import type { Hearing } from '../ingest/transport/parallel-connection.ts';
import type { SimulatedFrom } from '../ingest/transport/simulated-input.ts';
import type { History } from '../journal/history.ts';
import type { Journal } from '../journal/journal.ts';
import type { RunFacts } from '../journal/run-file.ts';
import { GuardedCore } from './guarded-core.ts';
import { Rebuild } from './rebuild.ts';

export interface RunParts {
  readonly layout: Layout;
  readonly layoutText: string;
  readonly software: string;
  readonly bundledSimulator: boolean;
  /** Whose simulated packets are taken; left out: anybody's. */
  readonly simulatedFrom?: SimulatedFrom;
  readonly broker: string;
  readonly makeWatch: (layout: Layout, options: { readonly simulated: boolean }) => Watch;
  /** `patient`: opening may fail for now, because the site is already watched. */
  readonly openJournal: (facts: RunFacts, patient: boolean) => Journal;
  readonly wallMs: () => number;
  /** How long this process runs, ms: no clock is set forward or back there. Left out: its own. */
  readonly upMs?: () => number;
  readonly show: (picture: Picture, feed: FeedPicture) => void;
  /** A new run has begun: screens must start afresh. */
  readonly restarted: () => void;
  /** How much of a long run is played again after a restart, ms; left out: as the rebuild thinks best. */
  readonly playedMs?: number;
  /** Who sends packets; left out: nobody who waits for an acknowledgement. */
  readonly senders?: Senders;
}

interface Senders {
  /** Left out: a broker's session is not between the senders and here. */
  readonly hear?: (how: Hearing) => void;
  /** What was not acknowledged shall be sent again. */
  readonly again: () => void;
}

export interface Run {
  readonly journal: Journal;
  readonly core: GuardedCore;
  readonly raw: RawTier;
  readonly intake: Intake;
  readonly startedMs: number;
  readonly simulated: boolean;
  /** Until it has caught up with a run that is gone on with, raw values are shown. */
  readonly rebuild: Rebuild | null;
}

export type RunStart = Pick<RunParts, 'layout' | 'layoutText' | 'software' | 'makeWatch' | 'openJournal' | 'playedMs'>;

export function beginRun(
  { layout, layoutText, software, makeWatch, openJournal, playedMs }: RunStart,
  { simulated, patient, startedWallMs }: { simulated: boolean; patient: boolean; startedWallMs: number },
  clock: RunClock,
  recall: (history: History, run: Run) => void,
): Run {
  const startedMs = clock.now(startedWallMs);
  const journal = openJournal({ layout, layoutText, software, simulated, startedMs, startedWallMs }, patient);
  const watch = makeWatch(layout, { simulated });
  const run: Run = {
    journal,
    core: new GuardedCore(watch, journal),
    raw: new RawTier(layout),
    intake: new Intake(layout),
    startedMs,
    simulated,
    rebuild: null,
  };
  const { earlier } = journal;
  if (!earlier) return run;
  clock.resume(earlier.endedMs);
  journal.flush();
  const history = journal.history();
  for (const { entry, atMs } of history.taken('assign', 'tare')) run.intake.heed(entry, atMs);
  recall(history, run);
  const rebuild = new Rebuild(layout, watch, history, { ...earlier, resumedMs: startedMs }, playedMs);
  return { ...run, startedMs: earlier.startedMs, rebuild };
}
