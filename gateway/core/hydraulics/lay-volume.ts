/**
 * Water that the lay itself holds, and how long it takes to fill.
 *
 * In: a layout, hoses in m. Out: m3, and seconds at a given flow. Hoses are taken as round and full at the kit's bore;
 * lay-flat hose under pressure is a little wider, heads and fittings hold next to nothing.
 * Limit: filling is faster than steady flow, since an empty lay resists less: the time is on the safe side.
 */
import type { Layout, Pump } from '../../../config/layout/layout.ts';
import { boreArea } from './friction.ts';
import { requireNotNegative } from './invariant.ts';

export interface LayVolume {
  readonly wholeM3: number;
  /** Hoses that belong to no line. */
  readonly trunkM3: number;
  /** Line id to its own hoses and feeders. */
  readonly lineM3: ReadonlyMap<string, number>;
}

export function hoseVolumeM3(boreM: number, lengthM: number): number {
  requireNotNegative('hoseVolumeM3', 'length', lengthM);
  return boreArea(boreM) * lengthM;
}

export function layVolume(layout: Layout): LayVolume {
  const lineM3 = new Map(layout.lines.map((line) => [line.id, 0]));
  let trunkM3 = 0;
  const add = (line: string | null, volumeM3: number) => {
    if (line === null) trunkM3 += volumeM3;
    else lineM3.set(line, (lineM3.get(line) ?? 0) + volumeM3);
  };
  for (const hose of layout.hoses) add(hose.line, hoseVolumeM3(hose.kit.boreM, hose.lengthM));
  for (const head of layout.heads) add(head.line, hoseVolumeM3(head.feeder.boreM, head.feederLengthM));
  const wholeM3 = [...lineM3.values()].reduce((sum, volume) => sum + volume, trunkM3);
  return { wholeM3, trunkM3, lineM3 };
}

/** Null where nothing flows in: it never fills. */
export function fillTimeS(volumeM3: number, inflowM3s: number): number | null {
  requireNotNegative('fillTimeS', 'volume', volumeM3);
  return inflowM3s > 0 ? volumeM3 / inflowM3s : null;
}

/**
 * At most this drains back through a stopped pump without a check valve, m3: the hoses that lie higher than its eye, up
 * to the first check valve. Limit: what a sag or a shut gate holds back stays.
 */
export function drainsBackM3(layout: Layout, pump: Pump): number {
  const heightOf = new Map(layout.places.map((place) => [place.id, place.elevationM]));
  const reached = new Set([pump.outlet]);
  const free = layout.hoses.filter((hose) => !hose.checkValve);
  const links = [...free, ...layout.gates.filter((gate) => gate.opening > 0)];
  for (const place of reached)
    for (const { from, to } of links) {
      if (from === place) reached.add(to);
      if (to === place) reached.add(from);
    }
  return free
    .filter(({ from, to }) => reached.has(from) && Math.min(heightOf.get(from)!, heightOf.get(to)!) >= pump.elevationM)
    .reduce((sum, hose) => sum + hoseVolumeM3(hose.kit.boreM, hose.lengthM), 0);
}
