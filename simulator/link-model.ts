/**
 * The link from device to gateway: what gets lost, doubled, delayed or wrongly dated on the way.
 *
 * In: samples as measured. Out: those that arrive in this second, dated by their device's own clock. `tidy`: all at
 * once and true. `field`, drawn per device and seed: 2 to 10 % lost in bursts (two-state chain of Gilbert, Bell System
 * Technical Journal 39 (1960) 1253), gaps of one to four minutes after which a backlog comes in one batch or is lost,
 * doubles, swapped order; some clocks start at 1970, some are minutes off. All rates are assumptions.
 */
import { SeededRandom } from './seeded-random.ts';
import type { Sample } from './sensors.ts';

export type Telemetry = 'tidy' | 'field';

/** The road is bad for seconds, whoever speaks on it or not. */
const BURST_S = 4;
const GAPS_PER_HOUR = 0.5;
const GAP_S = [60, 240] as const;
/** A device keeps this many samples over a gap; older ones are overwritten. */
const BACKLOG = 1_200;
const DOUBLED = 0.01;
const HELD = 0.01;
const HELD_S = [1, 4] as const;
const CLOCK_AT_1970 = 0.04;
const CLOCK_OFF = 0.015;
const CLOCK_OFF_S = 240;

interface Road {
  readonly dice: SeededRandom;
  readonly lossShare: number;
  readonly clockMs: number;
  losing: boolean;
  gapEndsMs: number;
  /** Whether the gap that ends next brings its backlog. */
  keeps: boolean;
  backlog: Sample[];
  held: { readonly dueMs: number; readonly samples: readonly Sample[] }[];
}

export class Post {
  readonly #seed: number;
  readonly #startMs: number;
  readonly #field: boolean;
  readonly #roads = new Map<string, Road>();

  constructor(seed: number, startMs: number, telemetry: Telemetry) {
    this.#seed = seed;
    this.#startMs = startMs;
    this.#field = telemetry === 'field';
  }

  /** Whether a device is in a gap of minutes: what it says does not come through. */
  gapped(device: string): boolean {
    return (this.#roads.get(device)?.gapEndsMs ?? 0) > 0;
  }

  pass(samples: readonly Sample[], nowMs: number): Sample[] {
    if (!this.#field) return [...samples];
    const byDevice = new Map<string, Sample[]>();
    for (const sample of samples)
      byDevice.set(sample.sensor.device, [...(byDevice.get(sample.sensor.device) ?? []), sample]);
    for (const device of byDevice.keys()) if (!this.#roads.has(device)) this.#roads.set(device, this.#roadOf(device));
    return [...this.#roads].flatMap(([device, road]) => travel(road, byDevice.get(device) ?? [], nowMs));
  }

  #roadOf(device: string): Road {
    const dice = SeededRandom.named(this.#seed, `road ${device}`);
    const lossShare = dice.between(0.02, 0.1);
    const kind = dice.uniform();
    const bootMs = this.#startMs - Math.floor(dice.between(60, 3_600)) * 1_000;
    const offMs = Math.round(dice.between(-CLOCK_OFF_S, CLOCK_OFF_S)) * 1_000;
    const clockMs = kind < CLOCK_AT_1970 ? -bootMs : kind < CLOCK_AT_1970 + CLOCK_OFF ? offMs : 0;
    return { dice, lossShare, clockMs, losing: false, gapEndsMs: 0, keeps: true, backlog: [], held: [] };
  }
}

function travel(road: Road, samples: readonly Sample[], nowMs: number): Sample[] {
  const out: Sample[] = [];
  const dated = samples.map((sample) => ({ ...sample, timeMs: sample.timeMs + road.clockMs }));
  for (const { samples: late } of road.held.filter(({ dueMs }) => dueMs <= nowMs)) out.push(...late);
  road.held = road.held.filter(({ dueMs }) => dueMs > nowMs);
  if (road.gapEndsMs === 0 && road.dice.uniform() < GAPS_PER_HOUR / 3_600) {
    road.gapEndsMs = nowMs + Math.floor(road.dice.between(...GAP_S)) * 1_000;
    road.keeps = road.dice.uniform() < 0.7;
  }
  if (road.gapEndsMs > nowMs) {
    road.backlog = [...road.backlog, ...dated].slice(-BACKLOG);
    return out;
  }
  if (road.gapEndsMs > 0) {
    if (road.keeps) out.push(...road.backlog);
    road.backlog = [];
    road.gapEndsMs = 0;
  }
  // Leaves a burst once in its mean length; enters as often as the share of loss asks.
  const entering = road.lossShare / (1 - road.lossShare) / BURST_S;
  road.losing = road.dice.uniform() < (road.losing ? 1 - 1 / BURST_S : entering);
  if (road.losing || dated.length === 0) return out;
  if (road.dice.uniform() < HELD) {
    road.held.push({ dueMs: nowMs + Math.ceil(road.dice.between(...HELD_S)) * 1_000, samples: dated });
    return out;
  }
  out.push(...dated);
  if (road.dice.uniform() < DOUBLED) out.push(...dated);
  return out;
}
