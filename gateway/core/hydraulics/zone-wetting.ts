/**
 * What the heads of one zone of one structure put down together, circles laid over each other as they overlap.
 *
 * In: a layout and the flow of each head, m3/s. Out: per structure and zone, the ground that any of its heads reaches
 * (m2), the mean rate there (m/s), the share that two heads or more reach, and the evenness (Christiansen's
 * coefficient, per cent). Method: a square grid over the zone; each head spreads its flow evenly over its sector.
 * Limit: wind is not modelled, nor what roofs and walls keep off; a real pattern is richer near the middle of its
 * throw.
 */
import { ZONES } from '../../../config/layout/layout.ts';
import type { Head, Layout, Zone } from '../../../config/layout/layout.ts';
import { applicationRateMps, timeToDepthS, uniformityPercent, wettedAreaM2 } from './wetting.ts';

export interface ZoneWetting {
  readonly structure: string;
  readonly zone: Zone;
  readonly areaM2: number;
  readonly flowM3s: number;
  readonly rateMps: number;
  readonly overlapShare: number;
  readonly evennessPercent: number;
  /** To the target depth at this mean rate; null: no water. */
  readonly toTargetS: number | null;
}

const GRID_M = 0.5;
/** Judgement: depth to wet fuels and litter through, 10 mm; for comparing zones, not a promise. */
export const TARGET_DEPTH_M = 0.01;

export function zoneWetting(layout: Layout, headFlowM3s: ArrayLike<number>): ZoneWetting[] {
  if (headFlowM3s.length < layout.heads.length)
    throw new RangeError(`zoneWetting: ${headFlowM3s.length} flows for ${layout.heads.length} heads`);
  return layout.structures.flatMap(({ id }) =>
    ZONES.flatMap((zone) => {
      const own = layout.heads
        .map((head, i) => ({ head, flowM3s: headFlowM3s[i]! }))
        .filter(({ head, flowM3s }) => head.structure === id && head.zone === zone && flowM3s > 0);
      return own.length === 0 ? [] : [{ structure: id, zone, ...overlaid(own) }];
    }),
  );
}

function overlaid(
  own: readonly { readonly head: Head; readonly flowM3s: number }[],
): Omit<ZoneWetting, 'structure' | 'zone'> {
  const edge = (pick: (head: Head) => number, sign: 1 | -1): number =>
    sign * Math.max(...own.map(({ head }) => sign * pick(head) + head.kit.throwM));
  const [west, east] = [edge((head) => head.xM, -1), edge((head) => head.xM, 1)];
  const [south, north] = [edge((head) => head.yM, -1), edge((head) => head.yM, 1)];
  const rates: number[] = [];
  let overlapped = 0;
  for (let x = west + GRID_M / 2; x < east; x += GRID_M) {
    for (let y = south + GRID_M / 2; y < north; y += GRID_M) {
      const there = own.filter(({ head }) => reaches(head, x, y));
      if (there.length === 0) continue;
      rates.push(
        there.reduce(
          (sum, { head, flowM3s }) => sum + applicationRateMps(flowM3s, wettedAreaM2(head.kit.throwM, head.arcDeg)),
          0,
        ),
      );
      if (there.length > 1) overlapped += 1;
    }
  }
  const flowM3s = own.reduce((sum, one) => sum + one.flowM3s, 0);
  const areaM2 = rates.length * GRID_M ** 2;
  const rateMps = applicationRateMps(flowM3s, areaM2);
  return {
    areaM2,
    flowM3s,
    rateMps,
    overlapShare: overlapped / rates.length,
    evennessPercent: uniformityPercent(rates),
    toTargetS: timeToDepthS(TARGET_DEPTH_M, rateMps),
  };
}

function reaches({ xM, yM, kit, arcDeg, facingDeg }: Head, x: number, y: number): boolean {
  const [east, north] = [x - xM, y - yM];
  if (Math.hypot(east, north) > kit.throwM) return false;
  const bearing = (Math.atan2(east, north) * 180) / Math.PI;
  const off = Math.abs(((bearing - facingDeg + 540) % 360) - 180);
  return off <= arcDeg / 2;
}
