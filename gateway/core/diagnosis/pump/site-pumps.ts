/**
 * All pumps of the site taken together: what state the water supply of the lay is in, and how it moves.
 *
 * In: once a second the mode that is declared, and what the lay says of each pump. Out: one state and one motion for
 * the site, findings, pictures, and notes of what changed. A site is as bad as its worst pump that turns.
 */
import type { Layout } from '../../../../config/layout/layout.ts';
import type { Mode } from '../../../../config/modes.ts';
import type { PumpPicture, PumpState } from '../../../../config/wire/wire.ts';
import type { Channel } from '../../telemetry/channel.ts';
import type { Finding } from '../isolation/finding.ts';
import type { PumpSide } from '../model/pump-side.ts';
import type { Outlet } from './outlet.ts';
import { pumpRemarks } from './pump-remarks.ts';
import { PumpWatch, type Motion } from './pump-watch.ts';

export class SitePumps {
  readonly each: readonly PumpWatch[];

  constructor(layout: Layout, sides: readonly PumpSide[], channels: ReadonlyMap<string, Channel>) {
    this.each = layout.pumps.map((pump, index) => new PumpWatch(layout, pump, sides[index]!, channels));
  }

  /** One second, pump by pump. Returns what is worth a note. */
  observe(nowMs: number, mode: Mode | null, outletOf: (pump: number) => Outlet): string[] {
    return this.each.flatMap((pump, index) => {
      const before = pump.regime.state;
      pump.observe(nowMs, mode, () => outletOf(index));
      return pumpRemarks(pump, before);
    });
  }

  get state(): PumpState {
    const states = this.each.map((pump) => pump.regime.state);
    for (const state of ['dead-head', 'starting', 'running', 'unknown'] as const)
      if (states.includes(state)) return state;
    return 'stopped';
  }

  /** Since when the last of them is in its state. */
  get stateSinceMs(): number {
    return Math.min(...this.each.map(({ regime }) => regime.stateSinceMs));
  }

  /** The model has what it leans on. */
  get known(): boolean {
    return this.each.every((pump) => pump.known);
  }

  /** Water runs through the lay, as far as the pumps show. */
  get flows(): boolean {
    return (this.state === 'running' || this.state === 'starting') && !this.pinched && !this.runningDry;
  }

  /** Next to no flow at high pressure: a dead-head in the making. */
  get pinched(): boolean {
    return this.each.some(({ regime }) => regime.pinchedMs !== null);
  }

  /** One turns but makes no pressure. */
  get runningDry(): boolean {
    return this.each.some(({ regime }) => regime.dryRunningMs !== null);
  }

  /** One ran and nobody ordered it to stop. */
  get stoppedUnasked(): boolean {
    return this.each.some((pump) => pump.stoppedUnasked);
  }

  /** What moves most, of the pumps that do not stand still. */
  motion(nowMs: number): Motion {
    if (this.state !== 'running') return 'unheard';
    const motions = this.each.filter(({ regime }) => regime.state !== 'stopped').map((pump) => pump.motion(nowMs));
    return (['throttled', 'rises', 'falls', 'unheard'] as const).find((one) => motions.includes(one)) ?? 'still';
  }

  /** The lay has come up to pressure. */
  filled(nowMs: number): void {
    for (const { regime } of this.each) regime.filled(nowMs);
  }

  /** What is measured to be drawn from a source; null: one of its pumps is not known. */
  drawnFrom(source: string): number | null {
    const flows = this.each
      .filter(({ pump }) => pump.source === source && pump.inlet === null)
      .map(({ readings }) => readings.flowM3s);
    return flows.every((flow) => flow !== null) ? flows.reduce((sum: number, flow) => sum + (flow ?? 0), 0) : null;
  }

  /** When the newest of their discharge pressures was measured; null: never. */
  get dischargeMs(): number | null {
    return Math.max(0, ...this.each.map((pump) => pump.dischargeMs ?? 0)) || null;
  }

  /** The longest time between readings of a discharge pressure. */
  get dischargeEveryMs(): number {
    return Math.max(0, ...this.each.map((pump) => pump.discharge?.everyMs ?? 0));
  }

  get findings(): Finding[] {
    return this.each.flatMap((pump) => pump.findings);
  }

  get pictures(): PumpPicture[] {
    return this.each.map((pump) => pump.picture());
  }
}
