/**
 * What is wrong on the site this second, pumps, hose lay, rhythms, shocks, sources and sensors in one list; and what
 * each of it does.
 *
 * In: the parts of the diagnosis as they are this second, when the gateway listens. Out: findings, those of a pump
 * first; the heads that each costs. One cause, one finding: what a trouble at a pump does to the lay is not a second
 * one, and is over with it.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import type { Mode } from '../../../config/modes.ts';
import type { Channel } from '../telemetry/channel.ts';
import type { Listening } from '../telemetry/frames.ts';
import type { RhythmWatch } from './bursts/rhythm-watch.ts';
import type { ShockWatch } from './bursts/shock-watch.ts';
import type { Finding } from './isolation/finding.ts';
import { Symptoms, withoutSymptoms } from './isolation/symptoms.ts';
import type { NetworkMonitor } from './network-monitor.ts';
import type { SitePumps } from './pump/site-pumps.ts';
import { StandstillWatch } from './pump/standstill-watch.ts';
import { sensorFindings } from './sensors/sensor-findings.ts';
import { Consequences, type Consequence } from './states/consequence.ts';
import type { SiteSupplies } from './site-supplies.ts';

export interface FindingParts {
  readonly layout: Layout;
  readonly channels: ReadonlyMap<string, Channel>;
  readonly monitor: NetworkMonitor;
  readonly pumps: SitePumps;
  readonly supplies: SiteSupplies;
  readonly rhythms: RhythmWatch;
  readonly shocks: ShockWatch;
  /** The line is shut by order. */
  readonly shutByOrder: (line: string) => boolean;
}

/** Judgement: after a trouble at a pump the lay comes up again over so long. */
const COMES_UP_MS = 20_000;

export class SiteFindings {
  readonly #parts: FindingParts;
  readonly #symptoms = new Symptoms();
  readonly #standstill: StandstillWatch;
  readonly #consequences: Consequences;

  constructor(parts: FindingParts) {
    this.#parts = parts;
    this.#standstill = new StandstillWatch(parts.layout);
    this.#consequences = new Consequences(parts.layout);
  }

  /** One second; `mode` as people have set it. */
  observe(nowMs: number, mode: Mode | null, listening: Listening): Finding[] {
    const { channels, monitor, pumps, supplies, rhythms, shocks } = this.#parts;
    const ofPumps = [...pumps.findings, ...this.#standstill.observe(nowMs, mode, pumps.each, monitor.findings)];
    const ended = this.#symptoms.ended(ofPumps);
    if (ended) {
      monitor.forget(ended.fromMs, ended.keys);
      monitor.restart(nowMs, COMES_UP_MS);
    }
    rhythms.observe(nowMs, [...ofPumps, ...monitor.findings]);
    const ofSensors = sensorFindings([...channels.values()], listening, nowMs);
    const pinchedMs = pumps.each.map(({ regime }) => regime.pinchedMs);
    return [
      ...ofPumps,
      ...withoutSymptoms(monitor.findings, [...ofPumps, ...ofSensors], pinchedMs),
      ...rhythms.findings,
      ...shocks.findings,
      ...supplies.findings,
      ...ofSensors,
    ];
  }

  /** By key of the finding what it does; null: it cannot be known now. */
  consequences(findings: readonly Finding[], nowMs: number): ReadonlyMap<string, Consequence | null> {
    const { monitor, pumps, supplies, shutByOrder } = this.#parts;
    return this.#consequences.of({
      nowMs,
      findings,
      lay: monitor,
      pumps: pumps.each,
      supplies: supplies.pictures,
      shutByOrder,
    });
  }
}
