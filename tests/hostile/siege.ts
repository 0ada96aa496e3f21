/**
 * Two gateways watch the same simulated site; one of them is sent hostile packets between the real ones, at full speed.
 *
 * In: how many, and a seed. Out: what became of each of them (verdicts as journalled), whether both showed the same
 * pictures, memory. Loop, intake, core and journal are the real ones; only the wire is left out. A packet that happens
 * to be still a valid reading of a real sensor is sent by a stranger instead: what keeps strangers from a sensor's
 * topic is the broker.
 */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import type { FeedPicture } from '../../config/wire/feed.ts';
import { Intake } from '../../gateway/ingest/intake.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { createWatch, type Watch } from '../../gateway/core/watch.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { packOf } from '../../simulator/wire.ts';
import { demoSite } from '../support/demo-site.ts';
import { scenarioNamed, START_MS } from '../support/drive.ts';
import { dieOf, harm, type Die, type WirePacket } from './mutations.ts';

export interface SiegeOutcome {
  readonly sent: number;
  readonly kinds: ReadonlyMap<string, number>;
  /** Verdict as journalled, or as counted where nothing more was to be stored, to number of hostile packets. */
  readonly verdicts: ReadonlyMap<string, number>;
  /** Refusals as the screen shows them. */
  readonly rejected: FeedPicture['rejected'];
  /** Readings that the core was given out of hostile packets. */
  readonly believed: number;
  readonly pictures: number;
  /** Second of the first picture that was not the same; null: none. */
  readonly differedAtS: number | null;
  readonly heapGrowthMB: number;
  readonly packetsPerS: number;
  readonly journalMB: number;
}

const DUPLICATE = 'ingest/duplicate';
/** Between two seconds of the site. */
const BURST = 500;

class Besieged {
  readonly loop: RunLoop;
  readonly folder = mkdtempSync(join(tmpdir(), 'wetdown-siege-'));
  picture = '';
  pictures = 0;
  readings = 0;
  rejected: FeedPicture['rejected'] = [];
  readonly run: string;

  constructor(wallMs: () => number) {
    const { layout, text } = demoSite();
    this.loop = new RunLoop({
      layout,
      layoutText: text,
      software: 'test',
      bundledSimulator: true,
      broker: '',
      wallMs,
      makeWatch: (site, options) => this.#counting(createWatch(site, options)),
      openJournal: (facts, patient) => new Journal(this.folder, facts, patient),
      restarted: () => undefined,
      show: (picture, feed) => {
        this.picture = JSON.stringify(picture);
        this.pictures += 1;
        this.rejected = feed.rejected;
      },
    });
    this.run = this.loop.run.name;
  }

  #counting(watch: Watch): Watch {
    return {
      take: (reading) => {
        this.readings += 1;
        watch.take(reading);
      },
      silence: (channel) => watch.silence(channel),
      enter: (entry, nowMs) => watch.enter(entry, nowMs),
      advance: (nowMs) => watch.advance(nowMs),
      books: () => watch.books(),
      restore: (books, nowMs) => watch.restore(books, nowMs),
    };
  }

  /** How many packets were journalled with each verdict. */
  verdicts(): Map<string, number> {
    const database = new Database(join(this.folder, `${this.run}.sqlite`), { readonly: true });
    const rows = database
      .prepare<[], { verdict: string; count: number }>('select verdict, count(*) as count from packet group by verdict')
      .all();
    database.close();
    return new Map(rows.map(({ verdict, count }) => [verdict, count]));
  }
}

export function siege(count: number, seed: number): SiegeOutcome {
  const { layout } = demoSite();
  const simulation = new Simulation(layout, { seed, startMs: START_MS, scenario: scenarioNamed('running') });
  let wallMs = START_MS;
  const [clean, besieged] = [new Besieged(() => wallMs), new Besieged(() => wallMs)];
  const die = dieOf(seed);
  const oracle = new Intake(layout);
  const kinds = new Map<string, number>();
  let [sent, seconds, spentMs, heapMB] = [0, 0, 0, 0];
  let differedAtS: number | null = null;
  while (sent < count) {
    const packs = packsOf(layout.site, simulation);
    wallMs = simulation.nowMs + 100;
    for (const pack of packs) {
      clean.loop.packet({ ...pack, retained: false });
      besieged.loop.packet({ ...pack, retained: false });
      const burst = Array.from({ length: Math.min(count - sent, Math.ceil(BURST / packs.length)) }, () =>
        hostile(pack, die, oracle, layout.site),
      );
      const startMs = performance.now();
      for (const packet of burst) besieged.loop.packet({ ...packet, retained: die() < 0.1 });
      spentMs += performance.now() - startMs;
      for (const { kind } of burst) kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
      sent += burst.length;
    }
    wallMs = simulation.nowMs + 900;
    for (const { loop } of [clean, besieged]) loop.tick();
    seconds += 1;
    if (clean.picture !== besieged.picture) differedAtS ??= seconds;
    // By then, everything that is kept with a bound has reached it.
    if (heapMB === 0 && sent > count / 5) heapMB = heapUsedMB();
  }
  const heapGrowthMB = heapUsedMB() - heapMB;
  for (const { loop } of [clean, besieged]) loop.close();
  const journalMB = statSync(join(besieged.folder, `${besieged.run}.sqlite`)).size / 1e6;
  const verdicts = besieged.verdicts();
  for (const [verdict, real] of clean.verdicts()) verdicts.set(verdict, (verdicts.get(verdict) ?? 0) - real);
  // The same retained status again is stored once.
  verdicts.set(DUPLICATE, besieged.rejected.find(({ reason }) => reason === DUPLICATE)?.count ?? 0);
  for (const { folder } of [clean, besieged]) rmSync(folder, { recursive: true, force: true });
  return {
    sent,
    kinds,
    verdicts,
    rejected: besieged.rejected,
    believed: besieged.readings - clean.readings,
    pictures: besieged.pictures,
    differedAtS,
    heapGrowthMB,
    packetsPerS: (1_000 * sent) / spentMs,
    journalMB,
  };
}

function packsOf(site: string, simulation: Simulation): WirePacket[] {
  const samples = simulation.second();
  const devices = [...new Set(samples.map(({ sensor }) => sensor.device))];
  const packs = devices.map((device) => [device, samples.filter(({ sensor }) => sensor.device === device)] as const);
  return packs.map(([device, own]) => ({
    topic: `wetdown/${site}/${device}/senml`,
    payload: Buffer.from(packOf(site, device, own)),
  }));
}

function hostile(valid: WirePacket, die: Die, oracle: Intake, site: string): WirePacket & { readonly kind: string } {
  const packet = harm(valid, die);
  const { readings, beat } = oracle.take({ ...packet, retained: false, receivedMs: 0 }, 1);
  return readings.length === 0 && beat === null ? packet : { ...packet, topic: `wetdown/${site}/stranger/senml` };
}

function heapUsedMB(): number {
  setFlagsFromString('--expose_gc');
  (runInNewContext('gc') as () => void)();
  return process.memoryUsage().heapUsed / 1e6;
}
