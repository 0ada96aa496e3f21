/**
 * The rhythms of all lines that have a fast sensor, of pressure or of motion: findings of stalled heads, and the lines
 * on which one could be seen at all.
 *
 * In: channels, time, what else was found. Out: findings; line ids. A line with another trouble is not judged: its
 * heads may rightly beat otherwise. Which head it is, nothing here can say: all impact heads of the line are named.
 */
import type { Layout } from '../../../../config/layout/layout.ts';
import { Bursts } from '../../telemetry/bursts.ts';
import type { Channel } from '../../telemetry/channel.ts';
import type { RhythmPicture } from '../../../../config/wire/bursts.ts';
import { keyOf } from '../causes/hypothesis.ts';
import type { Finding } from '../isolation/finding.ts';
import { LineRhythm } from './rhythm.ts';

interface Listened {
  readonly line: string;
  readonly bursts: Bursts;
  readonly rhythm: LineRhythm;
  /** What tells the line's pressure where the fast sensor itself does not. */
  readonly pressure: Channel | null;
}

export class RhythmWatch {
  findings: readonly Finding[] = [];
  readonly #layout: Layout;
  readonly #listened: readonly Listened[];

  constructor(layout: Layout, channels: ReadonlyMap<string, Channel>) {
    this.#layout = layout;
    this.#listened = layout.sensors.flatMap(({ id, line, quantity, noiseSd }) => {
      if (line === null || (quantity !== 'pulse' && quantity !== 'motion')) return [];
      const end = layout.sensors.find((other) => other.line === line && other.quantity === 'pressure');
      return [
        {
          line,
          bursts: new Bursts(channels.get(id)!),
          rhythm: new LineRhythm(noiseSd, beatingHeads(layout, line).length),
          pressure: quantity === 'motion' && end ? channels.get(end.id)! : null,
        },
      ];
    });
  }

  /** Lines with a fast sensor, with the beats that their baseline showed. */
  get pictures(): RhythmPicture[] {
    return this.#listened.map(({ line, rhythm }) => ({
      line,
      ratesHz: rhythm.ratesHz,
      heads: beatingHeads(this.#layout, line).length,
      lost: rhythm.lost?.beats ?? 0,
    }));
  }

  learn(nowMs: number): void {
    for (const { rhythm } of this.#listened) rhythm.learn(nowMs);
  }

  observe(nowMs: number, others: readonly Finding[]): void {
    for (const { bursts, rhythm, pressure } of this.#listened) {
      const burst = bursts.ended(nowMs);
      if (!burst) continue;
      const linePa = pressure
        ? pressure.usable(nowMs)
        : burst.reduce((sum, { value }) => sum + value, 0) / burst.length;
      if (linePa !== null) rhythm.hear(burst, linePa);
    }
    const troubled = new Set(others.map(({ subject }) => subject));
    const general = others.some(({ subjectKind }) => subjectKind === 'trunk' || subjectKind === 'pump');
    this.findings = this.#listened.flatMap(({ line, rhythm }) => {
      const { lost } = rhythm;
      if (!lost || general || troubled.has(line)) return [];
      const heads = beatingHeads(this.#layout, line);
      const cause = 'head-stalled';
      return [
        {
          key: keyOf(cause, line),
          cause,
          subject: line,
          subjectKind: 'line',
          places: heads.map(({ id }) => ({ id, probability: 1 / heads.length })),
          sinceMs: lost.sinceMs,
          probability: 0.9,
          sizeM3s: null,
          evidence: [],
          rivals: [],
          question: null,
          facts: {},
        } satisfies Finding,
      ];
    });
  }
}

function beatingHeads(layout: Layout, line: string): Layout['heads'][number][] {
  return layout.heads.filter((head) => head.line === line && head.kit.family === 'impact');
}
