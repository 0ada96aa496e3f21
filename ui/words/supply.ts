/**
 * How long water and fuel last, in words: the same on every screen.
 *
 * In: the source with its supply, the pump. Out: time left with its range, or why none can be said. An amount is asked
 * for in the units chosen.
 */
import type { Source } from '../../config/layout/layout.ts';
import type { PumpPicture, SupplyPicture } from '../../config/wire/wire.ts';
import { leftWords, rangeWords } from './time.ts';

/** Why there is no time left to say; null: there is. */
export function noWaterTime(source: Source | undefined, supply: SupplyPicture | undefined): string | null {
  if (source?.shape.kind === 'open-water') return 'open water, level not judged';
  if (supply?.filling) return 'being filled';
  if (supply?.emptyInS) return null;
  if (supply?.volumeM3 == null) return 'level not known';
  return supply.trendM3s === null ? 'trend not known yet' : 'not falling';
}

export function waterLeftWords(source: Source | undefined, supply: SupplyPicture | undefined): string {
  const why = noWaterTime(source, supply);
  return why ?? `${leftWords(supply!.emptyInS!.best)} (${rangeWords(supply!.emptyInS!)})`;
}

export function fuelLeftWords(pump: PumpPicture | undefined): string {
  if (pump?.fuelLeftS)
    return `${leftWords(pump.fuelLeftS.best)} (${rangeWords(pump.fuelLeftS)}) at the kit's usual use`;
  return pump?.state === 'stopped' ? 'not used: pump stopped' : 'time left not known';
}
