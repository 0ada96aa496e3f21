/**
 * The hose lay second by second: whether it may be judged now, what the diagnosis is given of it, and what follows for
 * its gates, its gauges and its filling.
 *
 * In: pumps, gauges and what people told, as they are this second. Out: expectation and findings (`monitor`), and
 * whether the advice works. Nothing is judged while the lay stands, cannot be seen or is declared to be filling. Advice
 * may fail without taking the readings with it: then nothing is expected, and why and since when is kept.
 */
import type { Picture } from '../../config/wire/wire.ts';
import type { LayBoundary } from './diagnosis/lay-boundary.ts';
import type { NetworkMonitor } from './diagnosis/network-monitor.ts';
import { Filling } from './diagnosis/pump/filling.ts';
import { outletOf, type Outlet } from './diagnosis/pump/outlet.ts';
import type { Motion } from './diagnosis/pump/pump-watch.ts';
import type { SitePumps } from './diagnosis/pump/site-pumps.ts';
import { BlockedTaps } from './diagnosis/sensors/blocked-taps.ts';
import { LayGauges } from './diagnosis/sensors/lay-gauges.ts';
import type { BaselineDesk } from './operations/baseline-desk.ts';
import type { Operations } from './operations/operations.ts';
import type { Channel } from './telemetry/channel.ts';

/** Judgement: what has just filled, or runs down, is no measure of what is right for so long. */
const SETTLES_MS = 20_000;

export interface LayParts {
  readonly channels: ReadonlyMap<string, Channel>;
  readonly operations: Operations;
  readonly monitor: NetworkMonitor;
  readonly pumps: SitePumps;
  readonly boundary: LayBoundary;
  readonly baselines: BaselineDesk;
}

export class RunningLay {
  readonly monitor: NetworkMonitor;
  readonly #parts: LayParts;
  readonly #gauges: LayGauges;
  readonly #taps: BlockedTaps;
  readonly #filling = new Filling();
  #advice: Picture['advice'] = { working: true };

  constructor(parts: LayParts) {
    const { channels, operations, monitor } = parts;
    this.monitor = monitor;
    this.#parts = parts;
    this.#gauges = new LayGauges(monitor.gauges, channels, (line) => operations.gates.isIdle(line));
    this.#taps = new BlockedTaps(monitor.gauges, channels);
  }

  /** Nothing is known of it yet. */
  begin(nowMs: number): void {
    this.monitor.rest(nowMs, false);
  }

  get advice(): Picture['advice'] {
    return this.#advice;
  }

  /** What the lay says of one pump's discharge. */
  outletOf(pump: number, nowMs: number): Outlet {
    const { channels, operations, pumps, boundary } = this.#parts;
    const inputs = {
      expectation: this.monitor.expectation,
      belief: this.monitor.belief,
      boundary: boundary.at(nowMs),
      channels,
      discharge: pumps.each[pump]!.discharge,
      isIdle: (line: string) => operations.gates.isIdle(line),
    };
    return outletOf(inputs, pump, nowMs);
  }

  /** One second. `hurt`: heads that a shock may have hurt. */
  observe(nowMs: number, hurt: ReadonlySet<string>): void {
    const { operations, pumps, baselines } = this.#parts;
    const mode = operations.mode?.name ?? null;
    if (!pumps.flows || !pumps.known || mode === 'filling') {
      this.#rest(nowMs, mode === 'filling');
      return;
    }
    const motion = pumps.motion(nowMs);
    // A stop that people announced runs down over seconds: nothing is made of it.
    if (mode === 'refuelling' && motion !== 'still') this.monitor.restart(nowMs, SETTLES_MS);
    baselines.observe(pumps.state === 'starting' ? null : motion, nowMs);
    this.#settleOrders(nowMs);
    if (this.#judge(nowMs, motion, hurt) && pumps.state === 'starting') this.#watchFilling(nowMs);
  }

  #rest(nowMs: number, declaredFilling: boolean): void {
    const { pumps, baselines } = this.#parts;
    const unheard = pumps.state === 'unknown' || (pumps.flows && !pumps.known);
    this.monitor.rest(nowMs, unheard && !declaredFilling);
    this.#filling.forget();
    baselines.observe(null, nowMs);
  }

  #settleOrders(nowMs: number): void {
    const { operations, boundary } = this.#parts;
    operations.gates.settle(this.monitor, boundary.at(nowMs), this.#gauges.readings(nowMs), nowMs);
  }

  /** Returns whether the advice works. */
  #judge(nowMs: number, motion: Motion, hurt: ReadonlySet<string>): boolean {
    const { channels, operations, pumps, boundary } = this.#parts;
    const frame = {
      atMs: nowMs,
      boundary: boundary.at(nowMs),
      boundaryMs: pumps.dischargeMs ?? nowMs,
      boundaryEveryMs: pumps.dischargeEveryMs,
      looks: operations.looks,
      hurt,
      ordered: operations.gates.awaited,
      ...this.#gauges.observe(nowMs),
    };
    try {
      this.monitor.observe(frame, motion);
      this.#taps.observe(nowMs, motion, (gauge) =>
        this.#gauges.isIdle(gauge) ? NaN : this.monitor.healthy!.values[gauge]!,
      );
      for (const [id, channel] of channels) channel.setTapBlocked(this.#taps.blocked.has(id));
      this.#advice = { working: true };
    } catch (error) {
      this.monitor.rest(nowMs, false);
      this.#advice = {
        working: false,
        sinceMs: this.#advice.working ? nowMs : this.#advice.sinceMs,
        why: error instanceof Error ? error.message : String(error),
      };
    }
    return this.#advice.working;
  }

  #watchFilling(nowMs: number): void {
    const { operations, pumps } = this.#parts;
    const { gauges, bands } = this.monitor;
    const ends = gauges.flatMap(({ kind, sensor }, index) =>
      kind === 'end' && !(sensor.line && operations.shutByOrder(sensor.line))
        ? [{ channel: this.#gauges.channels[index]!, expectedPa: bands[index]?.expected ?? null }]
        : [],
    );
    if (!this.#filling.isOver(ends, pumps.stateSinceMs, nowMs)) return;
    pumps.filled(nowMs);
    this.monitor.restart(nowMs, SETTLES_MS);
  }
}
