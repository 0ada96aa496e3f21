/**
 * Which heads a pump's water can get to: what hoses and gates join to its outlet, gates counted as open; a booster
 * passes on what comes to its inlet.
 *
 * In: layout. Out: ids of heads by pump.
 */
import type { Layout } from '../../../../config/layout/layout.ts';

export function headsFedBy(layout: Layout): ReadonlyMap<string, ReadonlySet<string>> {
  const joins = [...layout.hoses, ...layout.gates].map(({ from, to }) => [from, to] as const);
  const boosts = layout.pumps.flatMap(({ inlet, outlet }) => (inlet === null ? [] : [[inlet, outlet] as const]));
  return new Map(
    layout.pumps.map((pump) => {
      const places = new Set([pump.outlet]);
      // A place that is added while the set is walked is walked too.
      for (const place of places) {
        for (const [from, to] of joins) {
          if (from === place) places.add(to);
          if (to === place) places.add(from);
        }
        for (const [inlet, outlet] of boosts) if (inlet === place) places.add(outlet);
      }
      return [pump.id, new Set(layout.heads.filter(({ at }) => places.has(at)).map(({ id }) => id))] as const;
    }),
  );
}
