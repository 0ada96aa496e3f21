/**
 * The one maker of what is shown: the picture of one second.
 *
 * In: the parts of the core as they are this second, what channels show, what was found. Out: a Picture, SI; heads that
 * have turning pressure; water counted so far. What is not known is said to be unknown, never left as it was.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { ChannelPicture, HeadPicture, Picture } from '../../config/wire/wire.ts';
import type { AlarmDesk } from './alarms/alarm-desk.ts';
import { localTime } from './alarms/wording.ts';
import type { RhythmWatch } from './diagnosis/bursts/rhythm-watch.ts';
import type { ShockWatch } from './diagnosis/bursts/shock-watch.ts';
import type { Finding } from './diagnosis/isolation/finding.ts';
import type { LayBoundary } from './diagnosis/lay-boundary.ts';
import type { NetworkMonitor } from './diagnosis/network-monitor.ts';
import type { SitePumps } from './diagnosis/pump/site-pumps.ts';
import { outsideOf } from './diagnosis/states/agreement.ts';
import { blindSpots } from './diagnosis/states/blind-spots.ts';
import { StateWatch, type States } from './diagnosis/states/states.ts';
import { WaterTally } from './diagnosis/states/water-tally.ts';
import type { SiteSupplies } from './diagnosis/site-supplies.ts';
import { spreads } from './hydraulics/limits.ts';
import type { BaselineDesk } from './operations/baseline-desk.ts';
import type { Operations } from './operations/operations.ts';
import type { RunningLay } from './running-lay.ts';
import type { Channel } from './telemetry/channel.ts';
import { channelPicture } from './telemetry/channel-picture.ts';

export interface SnapshotParts {
  readonly layout: Layout;
  readonly simulated: boolean;
  readonly operations: Operations;
  readonly pumps: SitePumps;
  readonly supplies: SiteSupplies;
  readonly boundary: LayBoundary;
  readonly lay: RunningLay;
  readonly rhythms: RhythmWatch;
  readonly shocks: ShockWatch;
  readonly baselines: BaselineDesk;
  readonly alarms: AlarmDesk;
}

type Channels = ReadonlyMap<string, ChannelPicture>;
type Told = ReturnType<AlarmDesk['pictures']>;

/** What every channel shows, with the band that its value should stay in. */
export function channelPictures(
  channels: ReadonlyMap<string, Channel>,
  { gauges, bands, findings }: NetworkMonitor,
  nowMs: number,
): Channels {
  const bandOf = new Map(gauges.map(({ sensor }, gauge) => [sensor.id, bands[gauge] ?? null]));
  const drifts = (id: string): boolean =>
    findings.some(({ cause, subject }) => cause === 'sensor-drift' && subject === id);
  return new Map(
    [...channels].map(([id, channel]) => [
      id,
      channelPicture(channel, nowMs, { band: bandOf.get(id) ?? null, found: drifts(id) ? 'drifting' : null }),
    ]),
  );
}

export class Snapshot {
  /** Water counted so far. */
  readonly tally: WaterTally;
  readonly #parts: SnapshotParts;
  readonly #states = new StateWatch();
  #works: ReadonlySet<string> = new Set();

  constructor(parts: SnapshotParts) {
    this.#parts = parts;
    this.tally = new WaterTally(parts.layout);
  }

  /** Heads that have turning pressure. */
  get works(): ReadonlySet<string> {
    return this.#works;
  }

  /** To be called once a second: water is counted by it. */
  picture(nowMs: number, channels: Channels, findings: readonly Finding[]): Picture {
    const { layout, simulated, operations, pumps, lay, rhythms, shocks, baselines, alarms } = this.#parts;
    const told = alarms.pictures(nowMs);
    const { lines, heads, structures } = this.#judgeStates(nowMs, channels, findings, told);
    this.#count(nowMs, heads);
    const { ordered } = operations.gates;
    return {
      atMs: nowMs,
      simulated,
      advice: lay.advice,
      baseline: baselines.taken,
      steady: baselines.steadiness(nowMs),
      mode: operations.mode,
      channels: [...channels.values()],
      outside: outsideOf(channels, lay.monitor),
      pumps: pumps.pictures,
      supplies: this.#supplies,
      lines,
      heads,
      structures: structures.map((structure) => this.tally.of(structure)),
      shocks: shocks.shocks,
      rhythms: rhythms.pictures,
      ...told,
      notes: operations.notes,
      gates: layout.gates.map((gate, index) => ({ gate: gate.id, opening: ordered[index]! })),
      blind: this.#blind(channels),
    };
  }

  #judgeStates(nowMs: number, channels: Channels, findings: readonly Finding[], told: Told): States {
    const { layout, operations, pumps, boundary, lay } = this.#parts;
    return this.#states.judge({
      layout,
      pumpState: pumps.state,
      runningDry: pumps.runningDry,
      pinched: pumps.pinched,
      stoppedUnasked: pumps.stoppedUnasked,
      operations,
      channels,
      findings,
      standing: [...told.alarms, ...told.setAside].filter(({ clearedMs }) => clearedMs === null),
      lay: lay.monitor,
      boundary: boundary.at(nowMs),
      gatesTold: operations.gates.ordered,
    });
  }

  #count(nowMs: number, heads: readonly HeadPicture[]): void {
    this.tally.second(nowMs, heads);
    this.#works = new Set(heads.filter(({ state }) => spreads(state)).map(({ head }) => head));
  }

  /** A deadline only for what still works. */
  get #supplies(): Picture['supplies'] {
    return this.#parts.supplies.pictures.map((picture) =>
      picture.firstShort && !this.#works.has(picture.firstShort.head) ? { ...picture, firstShort: null } : picture,
    );
  }

  #blind(channels: Channels): Picture['blind'] {
    const { layout, pumps, lay, rhythms } = this.#parts;
    const { gauges, calibrated, creeping } = lay.monitor;
    const told = creeping.map(({ gauge, way, sinceMs }) => ({
      label: gauges[gauge]!.sensor.label,
      way,
      since: localTime(sinceMs, layout.timeZone),
    }));
    return blindSpots(layout, channels, calibrated, pumps.state === 'running', rhythms.pictures, told);
  }
}
