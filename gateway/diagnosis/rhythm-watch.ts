/**
 * The rhythms of all lines that have a fast pressure sensor: findings of stalled heads, and the lines on which one could be
 * seen at all.
 *
 * In: channels, time, what else was found. Out: findings; line ids. A line with another trouble is not judged: its heads
 * may rightly beat otherwise. Which head it is, nothing here can say: all impact heads of the line are named.
 */
import type { Layout } from '../../config/layout.ts';
import type { Channel } from '../telemetry/channel.ts';
import { keyOf, type Finding } from './finding.ts';
import { LineRhythm } from './rhythm.ts';

interface Listened {
  readonly line: string;
  readonly channel: Channel;
  readonly rhythm: LineRhythm;
  seenMs: number;
}

export class RhythmWatch {
  findings: readonly Finding[] = [];
  readonly #layout: Layout;
  readonly #listened: readonly Listened[];

  constructor(layout: Layout, channels: ReadonlyMap<string, Channel>) {
    this.#layout = layout;
    this.#listened = layout.sensors.flatMap((sensor) =>
      sensor.quantity === 'pulse' && sensor.line !== null ? [{ line: sensor.line, channel: channels.get(sensor.id)!, rhythm: new LineRhythm(sensor.noiseSd), seenMs: 0 }] : []);
  }

  /** Lines whose baseline showed a beat. */
  get lines(): string[] {
    return this.#listened.filter(({ rhythm }) => rhythm.known > 0).map(({ line }) => line);
  }

  learn(nowMs: number): void {
    for (const { rhythm } of this.#listened) rhythm.learn(nowMs);
  }

  observe(nowMs: number, others: readonly Finding[]): void {
    for (const one of this.#listened) {
      const { latest } = one.channel;
      if (latest && latest.atMs > one.seenMs) {
        for (const { atMs, value } of one.channel.between(one.seenMs, nowMs)) one.rhythm.take(atMs, value);
        one.seenMs = latest.atMs;
      }
      one.rhythm.settle(nowMs);
    }
    const troubled = new Set(others.map(({ subject }) => subject));
    const general = others.some(({ subjectKind }) => subjectKind === 'trunk' || subjectKind === 'pump');
    this.findings = this.#listened.flatMap(({ line, rhythm }) => {
      const { lost } = rhythm;
      if (!lost || general || troubled.has(line)) return [];
      const heads = this.#layout.heads.filter((head) => head.line === line && head.kit.family === 'impact');
      const cause = 'head-stalled';
      return [{
        key: keyOf(cause, line), cause, subject: line, subjectKind: 'line', places: heads.map(({ id }) => ({ id, probability: 1 / heads.length })),
        sinceMs: lost.sinceMs, probability: 0.9, sizeM3s: null, evidence: [], rivals: [], question: null, facts: {},
      } satisfies Finding];
    });
  }
}
