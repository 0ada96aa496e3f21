/**
 * Where everything of a layout lies on the plan, in pixels, to scale, north up; and which labels find room.
 *
 * In: layout, width in px. Out: points, scale (px per m), height, label boxes that overlap nothing, and the thing
 * nearest to a touch. Limit: labels that find no room are left out; lists carry those words.
 */
import type { Layout } from '../../../config/layout/layout.ts';

export interface Point {
  readonly x: number;
  readonly y: number;
}

export interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

export interface Plan {
  readonly width: number;
  readonly height: number;
  readonly pxPerM: number;
  readonly point: (xM: number, yM: number) => Point;
  readonly place: (id: string) => Point;
}

/** Room for labels at the rim; a phone has none to give. */
const MARGIN_PX = 38;
const NARROW_MARGIN_PX = 15;
const NARROW_PX = 500;
/** Judgement: a lay along one road would be a ribbon nobody can touch. */
const FLATTEST = 0.45;
/** Height over width, at most: a plan on wide glass must fit under the top line. */
const TALLEST = 0.68;
const TALLEST_NARROW = 1.2;

export function planOf(layout: Layout, width: number): Plan {
  const corners: (readonly [number, number])[] = [
    ...layout.places.map((one) => [one.xM, one.yM] as const),
    ...layout.sources.map((one) => [one.xM, one.yM] as const),
    ...layout.heads.map((one) => [one.xM, one.yM] as const),
    ...layout.structures.flatMap((one) => one.outlineM),
  ];
  const eastM = corners.map(([xM]) => xM);
  const northM = corners.map(([, yM]) => yM);
  const [west, east, south, north] = [Math.min(...eastM), Math.max(...eastM), Math.min(...northM), Math.max(...northM)];
  const margin = width < NARROW_PX ? NARROW_MARGIN_PX : MARGIN_PX;
  const inner = Math.max(60, width - 2 * margin);
  const spanM = Math.max(east - west, 1);
  const tallM = Math.max(north - south, 1);
  const pxPerM = inner / Math.max(spanM, tallM / (width < NARROW_PX ? TALLEST_NARROW : TALLEST));
  const height = Math.max(tallM * pxPerM, FLATTEST * inner) + 2 * margin;
  const offsetX = (width - spanM * pxPerM) / 2;
  const offsetY = (height - tallM * pxPerM) / 2;
  const point = (xM: number, yM: number): Point => ({
    x: offsetX + (xM - west) * pxPerM,
    y: offsetY + (north - yM) * pxPerM,
  });
  const places = new Map(layout.places.map((one) => [one.id, point(one.xM, one.yM)]));
  return { width, height, pxPerM, point, place: (id) => places.get(id) ?? { x: 0, y: 0 } };
}

export interface LabelWish {
  readonly id: string;
  readonly lines: readonly string[];
  readonly at: Point;
  /** Half-size of the thing itself, that the label may stand beside. */
  readonly reach: number;
}

/** What a thing on the plan is called, with its state: for those who hear it. */
export type NameOf = (id: string) => string;

export interface Label {
  readonly id: string;
  readonly lines: readonly string[];
  readonly x: number;
  readonly y: number;
}

const LINE_PX = 15;

/** First come, first placed: wishes in order of importance. A label that finds no room drops its last line first. */
export function placeLabels(
  wishes: readonly LabelWish[],
  taken: readonly Box[],
  plan: { width: number; height: number },
  widthOf: (words: string) => number,
): Label[] {
  const boxes = [...taken];
  const labels: Label[] = [];
  for (const wish of wishes) {
    for (let lines = wish.lines; lines.length > 0; lines = lines.slice(0, -1)) {
      const width = Math.max(...lines.map(widthOf)) + 4;
      const height = lines.length * LINE_PX;
      const free = spots(wish, width, height)
        .map((spot) => boxAt(spot, width, height))
        .find((box) => fits(box, boxes, plan));
      if (!free) continue;
      boxes.push(free);
      labels.push({ id: wish.id, lines, x: (free.left + free.right) / 2, y: free.top });
      break;
    }
  }
  return labels;
}

function spots(wish: LabelWish, width: number, height: number): Point[] {
  return [0, 10].flatMap((farther) => ring(wish.at, wish.reach + farther, width, height));
}

function ring(at: Point, reach: number, width: number, height: number): Point[] {
  return [
    { x: at.x, y: at.y - reach - height / 2 - 2 },
    { x: at.x, y: at.y + reach + height / 2 + 2 },
    { x: at.x + reach + width / 2 + 3, y: at.y },
    { x: at.x - reach - width / 2 - 3, y: at.y },
    { x: at.x + width / 2, y: at.y - reach - height / 2 - 2 },
    { x: at.x - width / 2, y: at.y - reach - height / 2 - 2 },
    { x: at.x + width / 2, y: at.y + reach + height / 2 + 2 },
    { x: at.x - width / 2, y: at.y + reach + height / 2 + 2 },
  ];
}

function boxAt({ x, y }: Point, width: number, height: number): Box {
  return { left: x - width / 2, right: x + width / 2, top: y - height / 2, bottom: y + height / 2 };
}

export function boxRound({ x, y }: Point, reach: number): Box {
  return { left: x - reach, right: x + reach, top: y - reach, bottom: y + reach };
}

export function boxAround(points: readonly Point[]): Box {
  const [eastPx, downPx] = [points.map((one) => one.x), points.map((one) => one.y)];
  return {
    left: Math.min(...eastPx),
    right: Math.max(...eastPx),
    top: Math.min(...downPx),
    bottom: Math.max(...downPx),
  };
}

export function overlap(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

function fits(box: Box, taken: readonly Box[], plan: { width: number; height: number }): boolean {
  return (
    box.left >= 1 &&
    box.right <= plan.width - 1 &&
    box.top >= 1 &&
    box.bottom <= plan.height - 1 &&
    !taken.some((other) => overlap(box, other))
  );
}

export interface Target {
  readonly id: string;
  readonly at: Point;
  /** Other end, for hoses. */
  readonly to?: Point;
  /** Outline, for structures. */
  readonly outline?: readonly Point[];
}

/** Judgement: half a glove's finger. */
const TOUCH_PX = 26;

/**
 * The thing a touch meant: the nearest point-like one within a finger, else the nearest hose, else the structure under
 * it.
 */
export function touched(at: Point, targets: readonly Target[]): string | null {
  const nearest = (some: readonly Target[], distance: (target: Target) => number, within: number): Target | null => {
    const sorted = some
      .map((target) => ({ target, px: distance(target) }))
      .filter(({ px }) => px <= within)
      .sort((a, b) => a.px - b.px);
    return sorted[0]?.target ?? null;
  };
  const points = targets.filter((target) => !target.to && !target.outline);
  const close = nearest(points, (target) => Math.hypot(target.at.x - at.x, target.at.y - at.y), TOUCH_PX / 2);
  if (close) return close.id;
  const under = targets.find((target) => target.outline && contains(target.outline, at));
  const hose = nearest(
    targets.filter((target) => target.to),
    (target) => segmentPx(at, target.at, target.to!),
    under ? 6 : TOUCH_PX / 2,
  );
  if (hose) return hose.id;
  if (under) return under.id;
  return nearest(points, (target) => Math.hypot(target.at.x - at.x, target.at.y - at.y), TOUCH_PX)?.id ?? null;
}

function segmentPx(at: Point, from: Point, to: Point): number {
  const length2 = (to.x - from.x) ** 2 + (to.y - from.y) ** 2;
  const along =
    length2 === 0
      ? 0
      : Math.max(0, Math.min(1, ((at.x - from.x) * (to.x - from.x) + (at.y - from.y) * (to.y - from.y)) / length2));
  return Math.hypot(at.x - from.x - along * (to.x - from.x), at.y - from.y - along * (to.y - from.y));
}

function contains(outline: readonly Point[], { x, y }: Point): boolean {
  let inside = false;
  outline.forEach((a, index) => {
    const b = outline[(index + outline.length - 1) % outline.length]!;
    if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
  });
  return inside;
}

/** Where in an outline a mark hides least: its middle or a corner, whichever is farthest from what stands there. */
export function clearest(outline: readonly Point[], others: readonly Point[]): Point {
  const middle = centre(outline);
  const corners = outline.map((corner) => ({
    x: corner.x + (middle.x - corner.x) * 0.28,
    y: corner.y + (middle.y - corner.y) * 0.28,
  }));
  const room = (at: Point): number =>
    Math.min(22, ...others.map((other) => Math.hypot(other.x - at.x, other.y - at.y)));
  return [middle, ...corners].reduce((best, at) => (room(at) > room(best) ? at : best));
}

export function centre(points: readonly Point[]): Point {
  const sum = points.reduce((total, one) => ({ x: total.x + one.x, y: total.y + one.y }), { x: 0, y: 0 });
  return { x: sum.x / points.length, y: sum.y / points.length };
}
