/**
 * A run of hours with troubles and people, on a site whose devices do not say that they are simulated, and what is left
 * of it on disk at chosen moments as if the gateway were killed there.
 *
 *   const long = playLong(folder, { seconds, seed, plan, killedAtS: [9_000] });
 *   const site = long.goOn(9_000); site.until(9_060);  // compare with long.shownAt(9_060)
 */
import { cpSync, mkdirSync, mkdtempSync } from 'node:fs';
import { join } from 'node:path';
import type { Entry } from '../../config/wire/entry.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import type { Deed } from '../../simulator/events.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { packOf, topics } from '../../simulator/wire.ts';
import { demoSite } from './demo-site.ts';
import { scenarioNamed } from './drive.ts';

const START = 1_790_000_000_000;
const { layout, text } = demoSite();

/** What came in within one second. */
interface Second {
  readonly wallMs: number;
  readonly packets: readonly { readonly topic: string; readonly payload: Uint8Array }[];
  readonly entries: readonly Entry[];
}

export interface LongPlan {
  readonly seconds: number;
  readonly seed: number;
  /** By second: what happens at the plant, and what people enter on seeing the last picture. */
  readonly deeds: Readonly<Record<number, Deed>>;
  readonly entries: Readonly<Record<number, (picture: Picture) => readonly Entry[]>>;
  /** Devices that are not heard, from and to. */
  readonly unheard: readonly { readonly device: string; readonly from: number; readonly to: number }[];
  readonly killedAtS: readonly number[];
  /** How much of the run is played again; left out: as the gateway does. */
  readonly playedMs?: number;
}

export class DiskSite {
  wallMs = START;
  picture: Picture | null = null;
  readonly folder: string;
  loop: RunLoop;
  readonly #playedMs: number | undefined;

  constructor(folder: string, wallMs: number, playedMs?: number) {
    this.folder = folder;
    this.wallMs = wallMs;
    this.#playedMs = playedMs;
    this.loop = this.start();
  }

  start(): RunLoop {
    this.loop = new RunLoop({
      layout,
      layoutText: text,
      software: 'test',
      bundledSimulator: false,
      broker: '',
      wallMs: () => this.wallMs,
      ...(this.#playedMs === undefined ? {} : { playedMs: this.#playedMs }),
      makeWatch: createWatch,
      openJournal: (facts, patient) => Journal.open(this.folder, facts, patient),
      restarted: () => undefined,
      show: (picture) => {
        if (picture.advice.working) this.picture = picture;
      },
    });
    return this.loop;
  }

  play({ wallMs, packets, entries }: Second): void {
    this.wallMs = wallMs + 100;
    for (const packet of packets) this.loop.packet({ ...packet, retained: false });
    this.wallMs = wallMs + 900;
    for (const entry of entries) this.loop.enter(entry);
    this.loop.tick();
  }
}

export class LongRun {
  readonly #folder: string;
  readonly #plan: LongPlan;
  readonly #seconds: Second[] = [];
  readonly #shown: (Picture | null)[] = [];

  constructor(folder: string, plan: LongPlan) {
    this.#folder = folder;
    this.#plan = plan;
    const own = join(folder, 'twin');
    mkdirSync(own);
    const simulation = new Simulation(layout, { seed: plan.seed, startMs: START, scenario: scenarioNamed('running') });
    const twin = new DiskSite(own, START);
    for (let second = 0; second < plan.seconds; second += 1) {
      const deed = plan.deeds[second];
      const refusal = deed ? simulation.carry(deed) : null;
      if (refusal) throw new Error(refusal);
      const samples = simulation.second();
      const packets = [...new Set(samples.map(({ sensor }) => sensor.device))]
        .filter((device) => !plan.unheard.some((one) => one.device === device && second >= one.from && second < one.to))
        .map((device) => {
          const own = samples.filter(({ sensor }) => sensor.device === device);
          const payload = packOf(layout.site, device, own).replace('"simulated":true,', '');
          return { topic: topics.pack(layout.site, device), payload: Buffer.from(payload) };
        });
      const entries = twin.picture ? (plan.entries[second]?.(twin.picture) ?? []) : [];
      const happened = { wallMs: simulation.nowMs, packets, entries };
      this.#seconds.push(happened);
      twin.play(happened);
      this.#shown.push(twin.picture);
      if (plan.killedAtS.includes(second)) this.#copy(own, second);
    }
    twin.loop.close();
  }

  /** All that a process which is killed now leaves: the last commit of the last tick, and no lock. */
  #copy(own: string, second: number): void {
    const left = this.#left(second);
    cpSync(own, left, { recursive: true, filter: (path) => !path.includes('.lock') && !path.endsWith('-shm') });
  }

  #left(second: number): string {
    return join(this.#folder, `left-${second}`);
  }

  /** A gateway that starts at once on a copy of what was left, and works through it. */
  goOn(killedAtS: number): DiskSite {
    const own = mkdtempSync(join(this.#folder, 'site-'));
    cpSync(this.#left(killedAtS), own, { recursive: true });
    const site = new DiskSite(own, this.#seconds[killedAtS]!.wallMs + 900, this.#plan.playedMs);
    site.loop.tick();
    return site;
  }

  /** What came in after `afterS`, up to and with `untilS`. */
  feed(site: DiskSite, afterS: number, untilS: number): void {
    for (const second of this.#seconds.slice(afterS + 1, untilS + 1)) site.play(second);
  }

  shownAt(second: number): Picture {
    return this.#shown[second]!;
  }
}

const acknowledgeAll = ({ alarms }: Picture): Entry[] =>
  alarms
    .filter(({ state }) => state !== 'acknowledged')
    .map(({ verdict }) => ({ kind: 'acknowledge', by: 'ab', alarm: verdict.id }));
const shelveSilent = ({ alarms }: Picture): Entry[] =>
  alarms
    .filter(({ verdict }) => verdict.cause === 'sensor-silent')
    .map(({ verdict }) => ({ kind: 'shelve', by: 'ab', alarm: verdict.id, why: 'battery', minutes: 55 }));

/** Forty minutes times `stretch`, with troubles, gates, a gap of the radio, and people who see to it. */
export function troubledRun(stretch: number): Omit<LongPlan, 'seed' | 'killedAtS'> {
  const at = (minute: number): number => Math.round(60 * minute * stretch);
  return {
    seconds: at(40),
    unheard: [{ device: 'pump-box', from: at(20), to: at(20) + 120 }],
    deeds: {
      [at(5)]: { do: 'start', what: 'leak', at: 'c-hose-2' },
      [at(8)]: { do: 'repair', what: 'leak', at: 'c-hose-2' },
      [at(10)]: { do: 'start', what: 'head-off', at: 'b-2' },
      [at(14)]: { do: 'start', what: 'gate', at: 'thief-e', size: 0 },
      [at(16)]: { do: 'start', what: 'sensor-silent', at: 'end-a-pressure' },
      [at(26)]: { do: 'start', what: 'plug', at: 'd-3' },
    },
    entries: {
      100: () => [{ kind: 'baseline', by: 'ab', headsSeenTurning: layout.heads.map(({ id }) => id) }],
      [at(6)]: acknowledgeAll,
      [at(12)]: acknowledgeAll,
      [at(14) + 5]: () => [{ kind: 'gate', by: 'cd', gate: 'thief-e', opening: 0 }],
      [at(17.5)]: shelveSilent,
      [at(30)]: () => [{ kind: 'note', by: 'ab', words: 'walked line A' }],
    },
  };
}

/** Every figure and list of a picture that has been gathered over the run. */
function gathered(picture: Picture): Record<string, unknown> {
  const alarm = (one: Picture['alarms'][number] | Picture['setAside'][number]): unknown[] => [
    one.verdict.id,
    one.verdict.cause,
    one.verdict.sinceMs,
    one.state,
    one.priority,
    one.raisedMs,
    one.clearedMs,
    one.acknowledgedBy,
    'aside' in one ? one.aside : null,
  ];
  return {
    tallies: picture.structures.map(({ structure, tally }) => [structure, tally]),
    load: picture.alarmLoad,
    alarms: picture.alarms.map(alarm),
    setAside: picture.setAside.map(alarm),
    notes: picture.notes,
    seenTurning: picture.heads.map(({ head, seenTurningMs }) => [head, seenTurningMs]),
    gates: picture.gates,
    mode: picture.mode,
    baseline: picture.baseline,
    shocks: picture.shocks,
  };
}

/** What of what was gathered is not the same: numbers to a share of themselves. */
export function differences(then: Picture, now: Picture, share: number): string[] {
  const found: string[] = [];
  const compare = (was: unknown, is: unknown, path: string): void => {
    if (typeof was === 'object' && was !== null && typeof is === 'object' && is !== null) {
      for (const key of new Set([...Object.keys(was), ...Object.keys(is)]))
        compare(Reflect.get(was, key), Reflect.get(is, key), `${path}.${key}`);
      return;
    }
    const near = typeof was === 'number' && typeof is === 'number' && Math.abs(is - was) <= share * Math.abs(was);
    if (was !== is && !near) found.push(`${path}: ${String(was)} -> ${String(is)}`);
  };
  compare(gathered(then), gathered(now), '');
  return found;
}
