/** The plan: everything inside its frame, labels that cover nothing, and touches that mean what they hit. */
import { describe, expect, it } from 'vitest';
import {
  boxRound,
  overlap,
  placeLabels,
  planOf,
  touched,
  type Box,
  type LabelWish,
} from '../../ui/parts/plan/plan-geometry.ts';
import { orderOf, targetsOf } from '../../ui/parts/plan/plan-targets.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout } = demoSite();
const widthOf = (words: string): number => words.length * 7.5;

function wishes(width: number): { plan: ReturnType<typeof planOf>; wanted: LabelWish[]; taken: Box[] } {
  const plan = planOf(layout, width);
  const targets = targetsOf(layout, plan);
  const taken = targets.filter((target) => !target.to && !target.outline).map((target) => boxRound(target.at, 8));
  const wanted = layout.structures.map((structure) => ({
    id: structure.id,
    lines: [structure.label, 'running as modelled'],
    at: targets.find((target) => target.id === structure.id)!.at,
    reach: 20,
  }));
  return { plan, wanted, taken };
}

describe('the plan', () => {
  it.each([340, 600, 820, 1_400])('holds everything at %i px', (width) => {
    const plan = planOf(layout, width);
    for (const { at } of targetsOf(layout, plan)) {
      expect(at.x).toBeGreaterThanOrEqual(0);
      expect(at.x).toBeLessThanOrEqual(plan.width);
      expect(at.y).toBeGreaterThanOrEqual(0);
      expect(at.y).toBeLessThanOrEqual(plan.height);
    }
  });

  it('keeps to scale with north up', () => {
    const plan = planOf(layout, 800);
    const from = plan.point(0, 0);
    const to = plan.point(10, 10);
    expect(to.x - from.x).toBeCloseTo(from.y - to.y, 6);
    expect(to.y).toBeLessThan(from.y);
  });

  it.each([340, 820, 1_400])('lets no label cover another or a mark at %i px', (width) => {
    const { plan, wanted, taken } = wishes(width);
    const boxes = placeLabels(wanted, taken, plan, widthOf).map((label): Box => {
      const half = Math.max(...label.lines.map(widthOf)) / 2;
      return { left: label.x - half, right: label.x + half, top: label.y, bottom: label.y + 15 * label.lines.length };
    });
    const clashes = boxes.flatMap((box, index) =>
      [...boxes.slice(index + 1), ...taken].filter((other) => overlap(box, other)),
    );
    expect(clashes).toEqual([]);
    expect(boxes.length).toBeGreaterThanOrEqual(width > 500 ? 6 : 3);
  });

  it('gives a touch on each mark to that mark, or to one as near', () => {
    const plan = planOf(layout, 1_400);
    const targets = targetsOf(layout, plan);
    for (const target of targets.filter((one) => !one.to && !one.outline)) {
      const id = touched(target.at, targets);
      const got = targets.find((one) => one.id === id)!;
      expect(Math.hypot(got.at.x - target.at.x, got.at.y - target.at.y)).toBeLessThan(1);
    }
    const hose = targets.find((one) => one.id === 'trunk-3')!;
    expect(touched({ x: (hose.at.x + hose.to!.x) / 2, y: (hose.at.y + hose.to!.y) / 2 }, targets)).toBe('trunk-3');
    expect(touched({ x: plan.width / 2, y: plan.height / 2 }, targets)).toBeNull();
  });

  it('walks the keyboard through everything that can be touched, once', () => {
    const ids = targetsOf(layout, planOf(layout, 800)).map((target) => target.id);
    const order = orderOf(layout);
    expect(new Set(order)).toEqual(new Set(ids));
    expect(order).toHaveLength(ids.length);
  });
});
