/**
 * Scales of charts that are drawn as SVG, without a clock or a canvas.
 *
 * In: columns of numbers, room in px. Out: places in px, round ticks, a path.
 */

export interface Room {
  readonly widthPx: number;
  readonly heightPx: number;
}

export const EDGE = { left: 56, right: 12, top: 24, bottom: 26 } as const;

export interface Scale {
  readonly x: (value: number) => number;
  readonly y: (value: number) => number;
}

export function linearScale(
  { widthPx, heightPx }: Room,
  [fromX, toX]: readonly [number, number],
  [fromY, toY]: readonly [number, number],
): Scale {
  const wide = (widthPx - EDGE.left - EDGE.right) / (toX - fromX || 1);
  const high = (heightPx - EDGE.top - EDGE.bottom) / (toY - fromY || 1);
  return {
    x: (value) => EDGE.left + (value - fromX) * wide,
    y: (value) => heightPx - EDGE.bottom - (value - fromY) * high,
  };
}

export function pathOf({ x, y }: Scale, xs: readonly number[], ys: readonly number[]): string {
  return xs
    .map((value, index) => `${index === 0 ? 'M' : 'L'}${x(value).toFixed(1)} ${y(ys[index]!).toFixed(1)}`)
    .join('');
}

/** Round numbers within a stretch, about `count`. */
export function ticksIn(from: number, to: number, count: number): number[] {
  const raw = (to - from) / count;
  if (!(raw > 0)) return [from];
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * [1, 2, 5, 10].find((factor) => factor * power >= raw * 0.999)!;
  const first = Math.ceil(from / step);
  return Array.from({ length: Math.floor(to / step) - first + 1 }, (_, index) =>
    Number(((first + index) * step).toPrecision(6)),
  );
}
