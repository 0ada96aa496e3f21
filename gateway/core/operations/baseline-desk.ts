/**
 * Baselines: the crew says which heads it saw turn, and what the gauges read meanwhile is what is right.
 *
 * In: once a second how the pumps move; the entry of a person. Out: how long the pumps have held still and must, the
 * baseline that was taken, or a sentence why none was. What was seen is noted even where no baseline comes of it.
 */
import type { Entry } from '../../../config/wire/entry.ts';
import type { Picture } from '../../../config/wire/wire.ts';
import { BASELINE_READINGS, BaselineSpell } from '../diagnosis/baseline/baseline-spell.ts';
import type { RhythmWatch } from '../diagnosis/bursts/rhythm-watch.ts';
import type { LayBoundary } from '../diagnosis/lay-boundary.ts';
import type { Boundary, GaugeKind } from '../diagnosis/model/gauge.ts';
import type { NetworkMonitor } from '../diagnosis/network-monitor.ts';
import type { Motion } from '../diagnosis/pump/pump-watch.ts';
import type { SitePumps } from '../diagnosis/pump/site-pumps.ts';
import type { Channel } from '../telemetry/channel.ts';
import type { Operations } from './operations.ts';

export interface BaselineParts {
  readonly channels: ReadonlyMap<string, Channel>;
  readonly operations: Operations;
  readonly monitor: NetworkMonitor;
  readonly pumps: SitePumps;
  readonly boundary: LayBoundary;
  readonly rhythms: RhythmWatch;
}

export class BaselineDesk {
  readonly #parts: BaselineParts;
  /** Of the gauges of the lay, in their order. */
  readonly #channels: readonly Channel[];
  readonly #spell = new BaselineSpell();
  #taken: Picture['baseline'] = null;

  constructor(parts: BaselineParts) {
    this.#parts = parts;
    this.#channels = parts.monitor.gauges.map(({ sensor }) => parts.channels.get(sensor.id)!);
  }

  get taken(): Picture['baseline'] {
    return this.#taken;
  }

  /** Goes on with the baseline that was told, if it is the one that was played again. */
  restore(told: Picture['baseline']): void {
    if (told?.atMs === this.#taken?.atMs) this.#taken = told;
  }

  /** `motion`: null while the lay does not run or is still filling. */
  observe(motion: Motion | null, nowMs: number): void {
    this.#spell.observe(motion, nowMs);
  }

  /** Seconds that the pumps have held still, and must for a baseline with these gauges. */
  steadiness(nowMs: number): NonNullable<Picture['steady']> {
    return {
      heldS: Math.floor(this.#spell.heldMs(nowMs) / 1_000),
      neededS: Math.ceil(this.#spell.neededMs(this.#channels, nowMs) / 1_000),
    };
  }

  take({ by, headsSeenTurning }: Extract<Entry, { kind: 'baseline' }>, atMs: number): string | null {
    const { operations, monitor, rhythms } = this.#parts;
    const missing = operations.sawTurning(headsSeenTurning, atMs);
    if (missing.length > 0)
      return (
        `Noted what was seen. No baseline yet: ${missing.length} head${missing.length > 1 ? 's' : ''} ` +
        `not ticked (${missing.slice(0, 4).join(', ')}${missing.length > 4 ? ' …' : ''}).`
      );
    const { heldS, neededS } = this.steadiness(atMs);
    if (heldS < neededS)
      return (
        `Noted what was seen. No baseline yet: it needs ${neededS} s of steady running with fresh pump ` +
        `readings (${BASELINE_READINGS} of every gauge). So far ${heldS} s. Try again then.`
      );
    const means = Float64Array.from(this.#channels, (channel) => this.#spell.mean(channel, atMs));
    const counts = this.#channels.map((channel) => this.#spell.count(channel, atMs)).filter((count) => count > 0);
    const result = monitor.baseline(this.#meanBoundary(means, atMs), means, Math.min(...counts), atMs);
    operations.note(result.words, by, atMs);
    if (!result.ok) return result.words;
    rhythms.learn(atMs);
    this.#taken = { atMs, by, words: result.words, ...result.learned };
    return null;
  }

  /** The boundary over the steady spell, where its gauges were heard in it. */
  #meanBoundary(means: Float64Array, atMs: number): Boundary {
    const { monitor, pumps, boundary } = this.#parts;
    const now = boundary.at(atMs);
    const column = (kind: GaugeKind, values: Float64Array): Float64Array =>
      values.map((value, pump) => {
        const gauge = monitor.gauges.findLastIndex(
          (one, index) => one.kind === kind && one.pump === pump && Number.isFinite(means[index]!),
        );
        return means[gauge] ?? value;
      });
    return {
      ...now,
      dischargePa: column('rise', now.dischargePa),
      suctionPa: column('suction', now.suctionPa),
      flowM3s: column('flow', now.flowM3s),
      speedRatio: Float64Array.from(
        pumps.each,
        (pump) => pump.meanSpeedRatio((channel) => this.#spell.mean(channel, atMs)) ?? NaN,
      ),
    };
  }
}
