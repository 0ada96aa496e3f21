/**
 * The log of pressure shocks on lines with a fast sensor: how high, how fast, after what; and the light heads that
 * stand less.
 *
 * In: bursts of fast pressure samples (Pa), what was done lately, who looked at which head. Out: shocks, newest first;
 * findings 'look at these heads'; heads that may have been hurt, for the competition of causes to weigh. A shock is a
 * peak over the level that the burst settles to, well above the swing that stays. Peak pressure is the sensor's; a
 * head's own may be higher or lower. Limit: a sensor of one reading a second cannot see a shock; lines without a fast
 * one have no log.
 */
import type { Layout } from '../../../../config/layout/layout.ts';
import type { ShockPicture } from '../../../../config/wire/bursts.ts';
import type { Note } from '../../../../config/wire/wire.ts';
import { Bursts } from '../../telemetry/bursts.ts';
import type { Channel, Sample } from '../../telemetry/channel.ts';
import type { Inspection } from '../causes/inspections.ts';
import { keyOf } from '../causes/hypothesis.ts';
import type { Finding } from '../isolation/finding.ts';

const LEAST_SAMPLES = 32;
/**
 * Judgement: what beats and pumps do stays below this; and a shock is this many times the swing that is left when it
 * has passed.
 */
const LEAST_PA = 40_000;
const OVER_SWING = 3;
const STEEP_PER_S = 2;
/**
 * Judgement: how long before a shock its cause may have been logged, and how long a head that took one is watched for.
 */
const CAUSE_MS = 20_000;
const DOUBT_MS = 7_200_000;
const MOST_SHOCKS = 50;
/** The gateway's own notes of what a pump did; its other notes are no deeds. */
const DEEDS = / -> |speed went from/;

export class ShockWatch {
  shocks: readonly ShockPicture[] = [];
  findings: readonly Finding[] = [];
  /** Light heads that stood less than a shock on their line, not looked at since. */
  hurt: ReadonlySet<string> = new Set();
  readonly #layout: Layout;
  readonly #listened: readonly { readonly line: string; readonly bursts: Bursts }[];

  constructor(layout: Layout, channels: ReadonlyMap<string, Channel>) {
    this.#layout = layout;
    this.#listened = layout.sensors.flatMap((sensor) =>
      sensor.quantity === 'pulse' && sensor.line !== null
        ? [{ line: sensor.line, bursts: new Bursts(channels.get(sensor.id)!) }]
        : [],
    );
  }

  /** Goes on from what was logged before. */
  restore(shocks: readonly ShockPicture[]): void {
    this.shocks = shocks;
  }

  /** Once a second. `seenTurningMs`: by head, when somebody last saw it turn. */
  observe(
    nowMs: number,
    notes: readonly Note[],
    looks: readonly Inspection[],
    seenTurningMs: ReadonlyMap<string, number>,
  ): void {
    for (const { line, bursts } of this.#listened) {
      const shock = shockIn(bursts.ended(nowMs) ?? [], line, notes);
      if (shock) this.shocks = [shock, ...this.shocks].slice(0, MOST_SHOCKS);
    }
    const lookedMs = (head: string): number =>
      Math.max(seenTurningMs.get(head) ?? 0, ...looks.filter(({ at }) => at === head).map(({ atMs }) => atMs));
    const doubted = this.shocks
      .filter(({ atMs }) => nowMs - atMs < DOUBT_MS)
      .map((shock) => ({
        shock,
        heads: this.#layout.heads
          .filter(
            ({ id, line, kit }) =>
              line === shock.line && kit.light && kit.survivesPa < shock.topPa && lookedMs(id) < shock.atMs,
          )
          .map(({ id }) => id),
      }))
      .filter(({ heads }) => heads.length > 0);
    this.hurt = new Set(doubted.flatMap(({ heads }) => heads));
    this.findings = this.#layout.lines.flatMap(({ id }) => {
      const own = doubted.filter(({ shock }) => shock.line === id);
      const worst = [...own].sort((a, b) => b.shock.topPa - a.shock.topPa)[0];
      if (!worst) return [];
      const heads = [...new Set(own.flatMap((one) => one.heads))];
      return [
        {
          key: keyOf('shock', id),
          cause: 'shock',
          subject: id,
          subjectKind: 'line',
          places: heads.map((head) => ({ id: head, probability: 1 / heads.length })),
          sinceMs: worst.shock.atMs,
          probability: 0.95,
          sizeM3s: null,
          evidence: [],
          rivals: [],
          question: null,
          facts: { topPa: worst.shock.topPa },
        } satisfies Finding,
      ];
    });
  }
}

/** The shock that a burst holds, or null. */
export function shockIn(samples: readonly Sample[], line: string, notes: readonly Note[]): ShockPicture | null {
  if (samples.length < LEAST_SAMPLES) return null;
  const rest = samples.slice(Math.floor(0.75 * samples.length)).map(({ value }) => value);
  const level = rest.reduce((sum, value) => sum + value, 0) / rest.length;
  const swing = Math.max(...rest) - Math.min(...rest);
  const top = samples.reduce((most, sample) => (sample.value > most.value ? sample : most));
  const peakPa = top.value - level;
  if (peakPa < LEAST_PA || peakPa < OVER_SWING * swing) return null;
  const ratePaPerS = Math.max(
    ...samples
      .slice(1)
      .map(
        ({ atMs, value }, index) =>
          (1_000 * (value - samples[index]!.value)) / Math.max(1, atMs - samples[index]!.atMs),
      ),
  );
  // A line that drains or rises slowly is no shock.
  if (ratePaPerS < STEEP_PER_S * peakPa) return null;
  const cause = notes.find(
    ({ atMs, by, words }) =>
      (by !== null || DEEDS.test(words)) && atMs <= top.atMs + CAUSE_MS / 4 && atMs > top.atMs - CAUSE_MS,
  );
  return { line, atMs: top.atMs, topPa: top.value, peakPa, ratePaPerS, after: cause?.words ?? null };
}
