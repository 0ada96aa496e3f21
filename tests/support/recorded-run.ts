/**
 * Records a simulated run as the live gateway would, packet by packet through the run loop, on a clock that is handed
 * on by hand.
 *
 *   const recorded = recordRun(folder, { seconds: 600, deeds: { 120: (run) => run.break('head-off', 'a-3') } });
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import type { Sample } from '../../simulator/sensors.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { packOf, topics } from '../../simulator/wire.ts';
import { demoSite, siteNamed } from './demo-site.ts';
import { scenarioNamed, START_MS } from './drive.ts';

export interface RunningRecord {
  readonly layout: Layout;
  readonly loop: RunLoop;
  enter(entry: Entry): ReturnType<RunLoop['enter']>;
  start(what: string, at?: string, size?: number): void;
  repair(what: string, at?: string): void;
  /** Everybody has walked the lay and every head turns. */
  baseline(): ReturnType<RunLoop['enter']>;
}

export interface Recorded {
  readonly path: string;
  readonly run: string;
  readonly layout: Layout;
  readonly shown: readonly Picture[];
}

export interface RecordPlan {
  readonly seconds: number;
  /** The demonstration's unless told. */
  readonly site?: string;
  readonly seed?: number;
  readonly scenario?: string;
  /** How strongly heads are felt by fast sensors. */
  readonly beat?: number;
  readonly telemetry?: 'tidy' | 'field';
  readonly deeds?: Readonly<Record<number, (run: RunningRecord) => void>>;
  /** Seconds in which nothing comes from any device. */
  readonly silent?: readonly [number, number];
  /** A device out of reach for these seconds: it keeps its packs and sends them after its first new one. */
  readonly held?: { readonly device: string; readonly from: number; readonly to: number };
  readonly keepShown?: boolean;
}

export function recordRun(folder: string, plan: RecordPlan): Recorded {
  const { layout, text } = plan.site === undefined ? demoSite() : siteNamed(plan.site);
  const scenario = {
    ...scenarioNamed(plan.scenario ?? 'running'),
    ...(plan.telemetry ? { telemetry: plan.telemetry } : {}),
    ...(plan.beat === undefined ? {} : { beat: plan.beat }),
  };
  const simulation = new Simulation(layout, { seed: plan.seed ?? 9_400, startMs: START_MS, scenario });
  let wallMs = START_MS - 1_000;
  const shown: Picture[] = [];
  let path = '';
  const loop = new RunLoop({
    layout,
    layoutText: text,
    software: 'test-1',
    bundledSimulator: true,
    broker: 'mqtt://127.0.0.1:1883',
    wallMs: () => wallMs,
    makeWatch: createWatch,
    openJournal: (facts, patient) => {
      const journal = new Journal(folder, facts, patient);
      ({ path } = journal);
      return journal;
    },
    show: (picture) => {
      if (plan.keepShown !== false) shown.push(picture);
    },
    restarted: () => undefined,
  });
  const carry = (what: string, at: string | undefined, deed: 'start' | 'repair', size?: number): void => {
    const refusal = simulation.carry({
      do: deed,
      what,
      ...(at === undefined ? {} : { at }),
      ...(size === undefined ? {} : { size }),
    });
    if (refusal) throw new Error(refusal);
  };
  const running: RunningRecord = {
    layout,
    loop,
    enter: (entry) => loop.enter(entry),
    start: (what, at, size) => carry(what, at, 'start', size),
    repair: (what, at) => carry(what, at, 'repair'),
    baseline: () => loop.enter({ kind: 'baseline', by: 'AB', headsSeenTurning: layout.heads.map(({ id }) => id) }),
  };
  const backlog: (readonly Sample[])[] = [];
  for (let second = 0; second < plan.seconds; second += 1) {
    const samples = simulation.second();
    wallMs = simulation.nowMs + 120;
    const [from, to] = plan.silent ?? [Infinity, Infinity];
    const packets = second >= from && second < to ? [] : [...byDevice(samples)];
    const send = (device: string, own: readonly Sample[]): void =>
      loop.packet({
        topic: topics.pack(layout.site, device),
        payload: Buffer.from(packOf(layout.site, device, own)),
        retained: false,
      });
    packets.forEach(([device, own], index) => {
      wallMs += index % 3;
      if (device === plan.held?.device && second >= plan.held.from && second < plan.held.to) backlog.push(own);
      else send(device, own);
    });
    if (second === plan.held?.to) for (const own of backlog) send(plan.held.device, own);
    wallMs = simulation.nowMs + 900;
    plan.deeds?.[second]?.(running);
    loop.tick();
  }
  const { name } = loop.run;
  loop.close();
  return { path, run: name, layout, shown };
}

function byDevice(samples: readonly Sample[]): Map<string, Sample[]> {
  const out = new Map<string, Sample[]>();
  for (const sample of samples) out.set(sample.sensor.device, [...(out.get(sample.sensor.device) ?? []), sample]);
  return out;
}
