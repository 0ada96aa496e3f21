/** What on the plan can be touched, where, and in which order the keyboard walks through it. */
import type { Layout } from '../../../config/layout/layout.ts';
import { centre, type Plan, type Point, type Target } from './plan-geometry.ts';

export function targetsOf(layout: Layout, plan: Plan): Target[] {
  return [
    ...layout.sources.map((source): Target => ({ id: source.id, at: plan.point(source.xM, source.yM) })),
    ...layout.pumps.map((pump): Target => ({ id: pump.id, at: plan.place(pump.outlet) })),
    ...layout.heads.map((head): Target => ({ id: head.id, at: plan.point(head.xM, head.yM) })),
    ...layout.gates.map((gate): Target => ({ id: gate.id, at: middle(plan.place(gate.from), plan.place(gate.to)) })),
    ...layout.sensors.flatMap((sensor): Target[] =>
      sensor.mounting.kind === 'place' ? [{ id: sensor.id, at: plan.place(sensor.mounting.place) }] : [],
    ),
    ...layout.hoses.map((hose): Target => ({ id: hose.id, at: plan.place(hose.from), to: plan.place(hose.to) })),
    ...layout.structures.map((structure): Target => {
      const outline = structure.outlineM.map(([xM, yM]) => plan.point(xM, yM));
      return { id: structure.id, at: centre(outline), outline };
    }),
  ];
}

/** Water first, then line by line with everything that belongs to it. */
export function orderOf(layout: Layout): string[] {
  const trunk = layout.hoses.filter((hose) => hose.line === null);
  const ofLine = (line: string): readonly { readonly id: string }[] => [
    ...layout.gates.filter((gate) => gate.line === line),
    ...layout.hoses.filter((hose) => hose.line === line),
    ...layout.heads.filter((head) => head.line === line),
    ...layout.sensors.filter((sensor) => sensor.line === line && sensor.mounting.kind === 'place'),
  ];
  const listed = [
    ...layout.sources,
    ...layout.pumps,
    ...trunk,
    ...layout.structures,
    ...layout.lines.flatMap((line) => ofLine(line.id)),
  ].map((one) => one.id);
  const left = [...layout.gates, ...layout.sensors.filter((sensor) => sensor.mounting.kind === 'place')]
    .map((one) => one.id)
    .filter((id) => !listed.includes(id));
  return [...listed, ...left];
}

export function middle(a: Point, b: Point): Point {
  return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
}
