/**
 * What was expected of a gauge at the time when it was measured.
 *
 * A road may hold a reading back for seconds, and a backlog brings one that is minutes old: held against the boundary
 * of now, either looks like a trouble as soon as the pump moves. In: every frame's expectation with the time at which
 * its boundary was measured. Out: residuals against that of the boundary nearest in time; NaN for what is older than
 * all that is kept (SI). Limit: of several pumps the one heard last dates the boundary.
 */

/**
 * Judgement: so many frames are kept; what is older than their boundaries by more than a device's clock may be off says
 * nothing of them.
 */
const KEPT_FRAMES = 12;
const CLOCK_OFF_MS = 6_000;

export class OwnTime {
  #frames: { readonly boundaryMs: number; readonly values: Float64Array }[] = [];

  clear(): void {
    this.#frames = [];
  }

  file(boundaryMs: number, values: Float64Array): void {
    this.#frames = [...this.#frames.slice(1 - KEPT_FRAMES), { boundaryMs, values }];
  }

  /** Of a frame's new readings against what was expected of each when it was measured. */
  residuals({ fresh, measuredMs }: { readonly fresh: Float64Array; readonly measuredMs: Float64Array }): Float64Array {
    return fresh.map((value, gauge) =>
      Number.isFinite(value) ? value - this.#expected(gauge, measuredMs[gauge]!) : NaN,
    );
  }

  #expected(gauge: number, measuredMs: number): number {
    const away = (frame: { readonly boundaryMs: number }): number => Math.abs(frame.boundaryMs - measuredMs);
    // The newest of those that are as near: a boundary that was not heard anew stands for the seconds after it.
    const nearest = this.#frames.reduceRight(
      (one, other) => (away(other) < away(one) ? other : one),
      this.#frames.at(-1)!,
    );
    return measuredMs < this.#frames[0]!.boundaryMs - CLOCK_OFF_MS ? NaN : nearest.values[gauge]!;
  }
}
