/**
 * Drives the gateway's pure core with the simulator's plant, a second at a time, without a wire.
 *
 *   const drive = new Drive(layout, { seed: 7 });
 *   drive.run(90); drive.baseline(); drive.carry({ do: 'start', what: 'leak', at: 'c-hose-2' }); drive.run(30);
 */
import { readFileSync } from 'node:fs';
import type { Layout } from '../../config/layout/layout.ts';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import type { Alarm, Picture } from '../../config/wire/wire.ts';
import { ClockRepair } from '../../gateway/ingest/devices/time-repair.ts';
import type { Reading } from '../../gateway/core/telemetry/reading.ts';
import { createWatch, type Watch } from '../../gateway/core/watch.ts';
import type { Deed } from '../../simulator/events.ts';
import { parseScenario, type Scenario } from '../../simulator/scenario.ts';
import type { Sample } from '../../simulator/sensors.ts';
import { Simulation } from '../../simulator/simulation.ts';

export const START_MS = Date.UTC(2026, 6, 14, 20, 0, 0);

export function siteLayout(name: string): Layout {
  const file = `config/sites/${name}.yaml`;
  const parsed = parseLayout(readFileSync(file, 'utf8'), file);
  if (!parsed.ok) throw new Error(JSON.stringify(parsed.faults));
  return parsed.layout;
}

export function scenarioNamed(name: string): Scenario {
  const file = `simulator/scenarios/${name}.yaml`;
  const parsed = parseScenario(readFileSync(file, 'utf8'), file);
  if (!parsed.ok) throw new Error(parsed.faults.join('\n'));
  return parsed.scenario;
}

/** Dates samples as ingest does, by the clock of each device. */
export class Filing {
  readonly #clocks = new Map<string, ClockRepair>();

  /** Samples of one second, as they arrive. */
  readings(samples: readonly Sample[], receivedMs: number): Reading[] {
    const newest = new Map<Sample['sensor'], number>();
    for (const { sensor, timeMs } of samples) newest.set(sensor, Math.max(timeMs, newest.get(sensor) ?? -Infinity));
    for (const [{ id, device }, timeMs] of newest) this.#clockOf(device).hear(id, timeMs, receivedMs, 1);
    return samples.map(({ sensor, value, timeMs }) => {
      const isInside = value >= sensor.min && (value < sensor.max || sensor.quantity !== 'pressure');
      const placed = this.#clockOf(sensor.device).place({ kind: 'absolute', atMs: timeMs }, receivedMs, false, 1)!;
      return { channel: sensor.id, value, ...placed, receivedMs, grade: isInside ? 'good' : 'out-of-range' };
    });
  }

  #clockOf(device: string): ClockRepair {
    const clock = this.#clocks.get(device) ?? new ClockRepair();
    this.#clocks.set(device, clock);
    return clock;
  }
}

export class Drive {
  readonly layout: Layout;
  readonly simulation: Simulation;
  readonly watch: Watch;
  readonly #filing = new Filing();
  picture: Picture;
  /** Every alarm that was ever annunciated, by id, as first seen. */
  readonly raised = new Map<string, Alarm>();

  constructor(layout: Layout, options: { readonly seed: number; readonly scenario?: string }) {
    this.layout = layout;
    this.simulation = new Simulation(layout, {
      seed: options.seed,
      startMs: START_MS,
      scenario: scenarioNamed(options.scenario ?? 'running'),
    });
    this.watch = createWatch(layout, { simulated: true });
    this.picture = this.second();
  }

  second(): Picture {
    for (const reading of this.#filing.readings(this.simulation.second(), this.simulation.nowMs + 100))
      this.watch.take(reading);
    this.picture = this.watch.advance(this.simulation.nowMs + 900) ?? this.picture;
    for (const alarm of this.picture.alarms)
      if (!this.raised.has(alarm.verdict.id)) this.raised.set(alarm.verdict.id, alarm);
    return this.picture;
  }

  run(seconds: number): Picture {
    for (let second = 0; second < seconds; second += 1) this.second();
    return this.picture;
  }

  /** Seconds until the condition holds, or null after `most`. */
  until(most: number, holds: (picture: Picture) => boolean): number | null {
    for (let second = 1; second <= most; second += 1) if (holds(this.second())) return second;
    return null;
  }

  carry(deed: Deed): void {
    const refusal = this.simulation.carry(deed);
    if (refusal) throw new Error(refusal);
  }

  /** The crew has walked the lay. Returns what the gateway objects to, or null. */
  baseline(): string | null {
    return this.watch.enter(
      { kind: 'baseline', by: 'AB', headsSeenTurning: this.layout.heads.map((head) => head.id) },
      this.simulation.nowMs + 950,
    );
  }

  /** Standing alarms, as 'cause subject'. */
  get standing(): string[] {
    return this.picture.alarms
      .filter((alarm) => alarm.state !== 'returned-unacknowledged')
      .map(({ verdict }) => `${verdict.cause} ${verdict.subject}`);
  }
}
