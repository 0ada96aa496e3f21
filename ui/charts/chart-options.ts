/**
 * How uPlot draws one gauge: band, expectation, measurement, with axes in the units and clock chosen.
 *
 * In: track (SI), unit scale, colours read from the theme, width. Out: options and columns for uPlot. Gaps stay gaps:
 * null breaks a line, undefined lets it run on.
 */
import type uPlot from 'uplot';
import type { Shown } from '../../config/units.ts';
import { parseQuantity } from '../../config/units.ts';
import type { Track } from '../state/track.ts';

export interface UnitScale {
  readonly unit: string;
  readonly toShown: (si: number) => number;
}

/** The straight line between SI and a unit of config/units.ts, from two of its points. */
export function unitScale(unit: string, what: Shown): UnitScale {
  const at = (number: number): number => {
    const parsed = parseQuantity(`${number} ${unit}`, what);
    if (!parsed.ok) throw new Error(parsed.why);
    return parsed.value;
  };
  const zero = at(0);
  const factor = at(1) - zero;
  return { unit, toShown: (si) => (si - zero) / factor };
}

export function columns(track: Track, scale: UnitScale): uPlot.AlignedData {
  const shown = (column: readonly (number | null | undefined)[]): (number | null | undefined)[] =>
    column.map((value) => (value == null ? value : scale.toShown(value)));
  return [
    track.atMs.map((atMs) => atMs / 1_000),
    shown(track.low),
    shown(track.high),
    shown(track.expected),
    shown(track.measured),
  ];
}

export interface Look {
  readonly width: number;
  readonly height: number;
  readonly ink: string;
  readonly quiet: string;
  readonly rule: string;
  readonly band: string;
  readonly expected: string;
  readonly measured: string;
}

interface Frame {
  readonly look: Look;
  readonly clock: (atMs: number) => string;
  readonly window: () => { readonly fromS: number; readonly toS: number };
}

export function chartOptions({ look, clock, window }: Frame): uPlot.Options {
  const axis = {
    stroke: look.quiet,
    grid: { stroke: look.rule, width: 1 },
    ticks: { stroke: look.rule, width: 1 },
    font: '13px system-ui, sans-serif',
  };
  const line = { points: { show: false }, spanGaps: false };
  return {
    width: look.width,
    height: look.height,
    legend: { show: false },
    cursor: { show: false },
    select: { show: false, left: 0, top: 0, width: 0, height: 0 },
    scales: {
      x: { time: true, range: () => [window().fromS, window().toS] },
      y: { range: (_plot, min, max) => roomy(min, max) },
    },
    axes: [
      { ...axis, space: 70, size: 30, values: (_plot, splits) => splits.map((second) => clock(second * 1_000)) },
      { ...axis, size: 52, values: (_plot, splits) => splits.map((value) => String(Math.round(value * 100) / 100)) },
    ],
    bands: [{ series: [2, 1], fill: look.band }],
    series: [
      {},
      { ...line, width: 0 },
      { ...line, width: 0 },
      { ...line, stroke: look.expected, width: 1.5, dash: [6, 4] },
      { ...line, stroke: look.measured, width: 2 },
    ],
  };
}

/** A flat line must not fill the height with its noise. */
function roomy(min: number | null, max: number | null): [number, number] {
  if (min === null || max === null || !Number.isFinite(min) || !Number.isFinite(max)) return [0, 1];
  const middle = (min + max) / 2;
  const half = Math.max((max - min) * 0.6, Math.abs(middle) * 0.02, 1e-6);
  return [middle - half, middle + half];
}
