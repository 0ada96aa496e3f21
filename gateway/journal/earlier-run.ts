/**
 * The run that a gateway which starts again should go on with, so that a restart loses neither baseline nor story.
 *
 * In: the folder of the records and what the new run would be. Out: a run of the same site and layout that no other
 * process writes, was never simulated, is whole and ended not long ago; or null. The newest is the last in the order of
 * runs, whatever clocks said. A simulated run is never continued: nothing tells whether the simulation is still the
 * same one.
 */
import Database from 'better-sqlite3';
import { claimRun, type RunClaim } from './run-claim.ts';
import type { RunFacts } from './run-file.ts';
import { pathOf } from './run-name.ts';
import { MIGRATIONS } from './schema.ts';
import { runsOf } from './uptime.ts';

export interface EarlierRun {
  readonly run: string;
  readonly startedMs: number;
  /** The newest packet, entry or picture in it. */
  readonly endedMs: number;
  readonly claim: Pick<RunClaim, 'release'>;
}

/** Judgement: after half a day a lay is looked at anew anyway. */
const AWAY_MAX_MS = 12 * 3_600_000;
/** Judgement: a wall clock further back than this was not set yet, and says nothing. */
const BACK_MAX_MS = 60_000;
const LOOKED_AT = 5;

export function findEarlierRun(folder: string, facts: RunFacts): EarlierRun | null {
  if (facts.simulated) return null;
  const runs = runsOf(folder, facts.layout.site);
  const furthestUpMs = runs[0]?.endedUpMs ?? 0;
  // Gateways cannot have run for longer since than it was away, whatever the clock says.
  const newest = runs
    .filter(({ thinned, endedUpMs }) => !thinned && furthestUpMs - endedUpMs < AWAY_MAX_MS)
    .slice(0, LOOKED_AT);
  for (const { run } of newest) {
    const earlier = read(folder, run, facts);
    const awayMs = earlier ? facts.startedMs - earlier.endedMs : Infinity;
    const claim = earlier && awayMs > -BACK_MAX_MS && awayMs < AWAY_MAX_MS ? claimRun(folder, run) : null;
    if (earlier && claim) return { run, ...earlier, claim };
  }
  return null;
}

/** Null for another layout, a simulated run, an empty one, a newer version's or a broken one. */
function read(
  folder: string,
  run: string,
  { layout }: RunFacts,
): { readonly startedMs: number; readonly endedMs: number } | null {
  let database: Database.Database | null = null;
  try {
    database = new Database(pathOf(folder, run), { readonly: true, timeout: 1_000 });
    if (Number(database.pragma('user_version', { simple: true })) > MIGRATIONS.length) return null;
    const facts = database
      .prepare<[string, string], { startedMs: number }>(
        'select started_ms as startedMs from run where site = ? and layout_fingerprint = ? and simulated = 0',
      )
      .get(layout.site, layout.fingerprint);
    const { endedMs } = database
      .prepare<[], { endedMs: number | null }>(
        `select max(at_ms) as endedMs from (
          select * from (select received_ms as at_ms from packet order by number desc limit 1)
          union all select max(at_ms) from entry union all select max(at_ms) from picture
        )`,
      )
      .get() ?? { endedMs: null };
    return facts && endedMs !== null ? { startedMs: facts.startedMs, endedMs } : null;
  } catch {
    return null;
  } finally {
    database?.close();
  }
}
