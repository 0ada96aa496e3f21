/**
 * The waters that the pumps draw from: what each holds, and how high it stands.
 *
 * In: what tenders bring, what leaks and what is drawn, m3/s; seconds. Out: m3, and heights of the surface in m.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Conditions } from '../conditions.ts';
import { depthAt, depthOf, sourceVolume } from '../vessel.ts';

export class Waters {
  readonly volumeM3: Float64Array;
  readonly #layout: Layout;
  readonly #conditions: Conditions;

  constructor(layout: Layout, conditions: Conditions) {
    this.#layout = layout;
    this.#conditions = conditions;
    this.volumeM3 = Float64Array.from(layout.sources, (source) =>
      source.shape.kind === 'open-water' ? Infinity : 0.9 * sourceVolume(source.shape, depthOf(source.shape)),
    );
  }

  levelM(source: number): number {
    const { shape } = this.#layout.sources[source]!;
    return shape.kind === 'open-water'
      ? -this.#conditions.sourceDropM[source]!
      : depthAt(shape, this.volumeM3[source]!);
  }

  #sourceOf(pump: number): number {
    const { source } = this.#layout.pumps[pump]!;
    return this.#layout.sources.findIndex((candidate) => candidate.id === source);
  }

  /** Surface of its water above the pump's eye, m. */
  liftM(pump: number): number {
    const source = this.#sourceOf(pump);
    return this.#layout.sources[source]!.elevationM + this.levelM(source) - this.#layout.pumps[pump]!.elevationM;
  }

  /** Whether the strainer reaches water. */
  reaches(pump: number): boolean {
    const source = this.#sourceOf(pump);
    const { shape, usable } = this.#layout.sources[source]!;
    const beyond = shape.kind === 'open-water' ? 0 : (1 - usable) * sourceVolume(shape, depthOf(shape));
    return this.volumeM3[source]! > beyond;
  }

  settle(dt: number, pumpFlowM3s: Float64Array): void {
    this.#layout.sources.forEach((source, index) => {
      if (source.shape.kind === 'open-water') return;
      const drawn = this.#layout.pumps.reduce(
        (sum, pump, at) => sum + (pump.source === source.id ? pumpFlowM3s[at]! : 0),
        0,
      );
      const full = sourceVolume(source.shape, depthOf(source.shape));
      const { refillHeld, sourceGainM3s, sourceLeakM3s } = this.#conditions;
      const gained = refillHeld[index] ? 0 : sourceGainM3s[index]!;
      this.volumeM3[index] = Math.min(
        full,
        Math.max(0, this.volumeM3[index]! + (gained - sourceLeakM3s[index]! - drawn) * dt),
      );
    });
  }
}
