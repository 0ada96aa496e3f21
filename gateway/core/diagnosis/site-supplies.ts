/**
 * All water sources of the site: their levels, how long each lasts, and which head falls short first as one empties.
 *
 * In: once a second what is drawn from each, the lay as it is believed, heads that have turning pressure. Out: levels
 * (m), findings, pictures. Which head falls short first is worked out every ten seconds: a level moves slowly.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import type { SupplyPicture } from '../../../config/wire/wire.ts';
import { restLevelM } from '../hydraulics/source.ts';
import type { Channel } from '../telemetry/channel.ts';
import type { Finding } from './isolation/finding.ts';
import type { NetworkMonitor } from './network-monitor.ts';
import type { SitePumps } from './pump/site-pumps.ts';
import type { FirstShort } from './supply/first-underpressure.ts';
import { SupplyWatch } from './supply/supply-watch.ts';

const FIRST_SHORT_EVERY_MS = 10_000;

export class SiteSupplies {
  readonly #each: readonly SupplyWatch[];
  readonly #firstShort = new Map<number, FirstShort | null>();

  constructor(layout: Layout, channels: ReadonlyMap<string, Channel>) {
    this.#each = layout.sources.map((source) => new SupplyWatch(layout, source, channels));
  }

  /** `works`: heads that had turning pressure a moment ago. */
  observe(nowMs: number, pumps: SitePumps, lay: NetworkMonitor, works: ReadonlySet<string>): void {
    this.#each.forEach((supply, index) => {
      if (!lay.present) this.#firstShort.delete(index);
      else if (nowMs % FIRST_SHORT_EVERY_MS === 0) this.#firstShort.set(index, lay.firstShort(index, works));
      supply.observe(nowMs, pumps.drawnFrom(supply.source.id), this.#firstShort.get(index) ?? null);
    });
  }

  /** By the gauge; of open water without one as the layout says. NaN: not known. */
  levelsM(nowMs: number): Float64Array {
    return Float64Array.from(
      this.#each,
      (supply) => supply.levelM(nowMs) ?? (supply.source.shape.kind === 'open-water' ? restLevelM(supply.source) : NaN),
    );
  }

  get findings(): Finding[] {
    return this.#each.flatMap((supply) => supply.findings);
  }

  get pictures(): SupplyPicture[] {
    return this.#each.map(({ picture }) => picture);
  }
}
