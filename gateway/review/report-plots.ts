/**
 * The two drawings of the printed report, as SVG text: the lines' states with alarms, deeds and finds on one axis of
 * time; and pressures under it on the same axis.
 *
 * In: a copy of a look back; series in SI. Out: SVG without scripts, styles or outside resources, in black and greys:
 * every state has a pattern of its own. Gaps stay gaps.
 */
import { LINE_STATE_WORDS } from '../../config/wire/state-words.ts';
import { show } from '../../config/units.ts';
import type { UnitSystem } from '../../config/layout/layout.ts';
import type { Series } from '../../config/wire/live.ts';
import type { LineState } from '../../config/wire/wire.ts';
import { localText, utcText } from './clock-text.ts';
import type { Copy } from './anonymised.ts';

const FILLS: Readonly<Record<LineState, string>> = {
  'as-modelled': '#b9b9b9',
  changed: 'url(#changed)',
  'running-short': 'url(#short)',
  'running-over': 'url(#over)',
  down: '#111111',
  unknown: 'url(#unknown)',
  filling: 'url(#filling)',
  'shut-by-order': '#ffffff',
  'rigged-dry': '#f2f2f2',
};
const FILL_WORDS: readonly (readonly [string, LineState])[] = [
  ['Grey', 'as-modelled'],
  ['lines across', 'changed'],
  ['hatched', 'running-short'],
  ['upright lines', 'running-over'],
  ['black', 'down'],
  ['thin hatching', 'unknown'],
  ['dots', 'filling'],
  ['white', 'shut-by-order'],
  ['pale', 'rigged-dry'],
];
export const TIMELINE_KEY = `${FILL_WORDS.map(([fill, state]) => `${fill}: ${LINE_STATE_WORDS[state]}`).join('; ')}.`;
const PALE = '#b9b9b9';
const PATTERNS = `<defs>
${pattern('short', 6, PALE, stroke('M0 6 6 0', '#111', 2))}
${pattern('changed', 6, PALE, stroke('M0 3H6', '#111', 1))}
${pattern('over', 6, PALE, stroke('M3 0V6', '#111', 2))}
${pattern('unknown', 5, '#fff', stroke('M0 0 5 5', '#777', 1))}
${pattern('filling', 4, '#fff', '<circle cx="1" cy="1" r="1" fill="#555"/>')}
</defs>`;
const LEFT = 130;
const WIDTH = 1_000;
const ROW = 16;

/** A square of so many units that is repeated: its ground, and a mark on it. */
function pattern(id: string, units: number, ground: string, mark: string): string {
  const size = `width="${units}" height="${units}"`;
  return `<pattern id="${id}" ${size} patternUnits="userSpaceOnUse"><rect ${size} fill="${ground}"/>${mark}</pattern>`;
}

function stroke(path: string, ink: string, width: number): string {
  return `<path d="${path}" stroke="${ink}" stroke-width="${width}"/>`;
}

export function escapeText(text: string): string {
  return text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll("'", '&#39;');
}

/** Left edge of a moment. */
function scaleOf({ review }: Copy): (atMs: number) => number {
  const { fromMs, toMs } = review.figures;
  return (atMs) =>
    Math.round(10 * (LEFT + (WIDTH - LEFT) * Math.min(1, Math.max(0, (atMs - fromMs) / Math.max(1, toMs - fromMs))))) /
    10;
}

export function clockText(atMs: number, zone: string | null): string {
  return zone === null ? `${utcText(atMs)!.slice(11, 16)}Z` : localText(atMs, zone)!.slice(11, 16);
}

function axis(copy: Copy, y: number): string {
  const { fromMs, toMs } = copy.review.figures;
  const x = scaleOf(copy);
  const spans = [60_000, 300_000, 900_000, 1_800_000, 3_600_000, 7_200_000, 14_400_000, 43_200_000, 86_400_000];
  const stepMs = spans.find((span) => (toMs - fromMs) / span <= 14) ?? 7 * 86_400_000;
  const ticks: string[] = [];
  for (let atMs = Math.ceil(fromMs / stepMs) * stepMs; atMs <= toMs; atMs += stepMs) {
    ticks.push(
      `<path d="M${x(atMs)} 0V${y}" stroke="#ccc"/><text x="${x(atMs)}" y="${y + 12}" ` +
        `text-anchor="middle">${clockText(atMs, copy.zone)}</text>`,
    );
  }
  return ticks.join('');
}

function label(words: string, y: number): string {
  return (
    `<text x="${LEFT - 6}" y="${y + 11}" ` +
    `text-anchor="end">${escapeText(words.length > 22 ? `${words.slice(0, 21)}…` : words)}</text>`
  );
}

export function timelinePlot(copy: Copy): string {
  const { timeline, figures } = copy.review;
  const x = scaleOf(copy);
  const bars = timeline.lines.map(
    ({ line, spans }, row) =>
      label(copy.label(line), row * ROW) +
      spans
        .map(
          ({ fromMs, toMs, state }) =>
            `<rect x="${x(fromMs)}" y="${row * ROW + 2}" ` +
            `width="${Math.max(0.4, x(toMs) - x(fromMs)).toFixed(1)}" height="${ROW - 4}" ` +
            `fill="${FILLS[state]}" stroke="#111" ` +
            `stroke-width="${state === 'shut-by-order' ? 0.8 : 0.2}"/>`,
        )
        .join(''),
  );
  const alarmY = timeline.lines.length * ROW + 6;
  const alarms = timeline.alarms.map(({ raisedMs, clearedMs, priority }, index) => {
    const y = alarmY + (index % 4) * 6;
    const heavy = priority === 'people' || priority === 'high' ? 4 : priority === 'medium' ? 2.5 : 1.2;
    return (
      `<path d="M${x(raisedMs)} ${y + 3}H${Math.max(x(raisedMs) + 1, x(clearedMs ?? figures.toMs))}" ` +
      `stroke="#111" stroke-width="${heavy}"/><circle cx="${x(raisedMs)}" cy="${y + 3}" r="2.5"/>`
    );
  });
  const deedY = alarmY + 30;
  const deeds = timeline.deeds.map(
    ({ atMs, by }) => `<path d="M${x(atMs)} ${deedY}v10" stroke="#111" stroke-width="${by === null ? 0.5 : 1.6}"/>`,
  );
  const truthY = deedY + 18;
  const truth = timeline.truth.map(
    ({ fromMs, toMs, what }) =>
      stroke(`M${x(fromMs)} ${truthY + 5}H${x(toMs ?? fromMs)}`, '#111', 3) +
      `<path d="M${x(fromMs) - 4} ${truthY + 10}l4 -9 4 9z"><title>${escapeText(what)}</title></path>`,
  );
  const bottom = truthY + 16;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${bottom + 18}" role="img"`,
    ' aria-label="States of the lines, alarms, deeds and finds over time" font-family="sans-serif" font-size="10">',
    PATTERNS,
    axis(copy, bottom),
    ...bars,
    label('alarms', alarmY + 4),
    ...alarms,
    label('done and noted', deedY),
    ...deeds,
    label('found on site', truthY),
    ...truth,
    '</svg>',
  ].join('');
}

export interface PlottedSeries {
  readonly label: string;
  readonly series: Series;
}

export function pressurePlot(copy: Copy, plotted: readonly PlottedSeries[], units: UnitSystem): string {
  const height = 44;
  const x = scaleOf(copy);
  const rows = plotted.map(({ label: words, series }, row) => {
    const top = row * (height + 6);
    const values = [...series.measured, ...series.expected].filter((value) => value !== null);
    const least = Math.min(0, ...values);
    const most = Math.max(1, ...values);
    const y = (value: number): string => (top + height - (height * (value - least)) / (most - least)).toFixed(1);
    const path = (column: readonly (number | null)[]): string => {
      let pen = 'M';
      return column
        .map((value, index) => {
          if (value === null) {
            pen = 'M';
            return '';
          }
          const step = `${pen}${x(series.atMs[index]!)} ${y(value)}`;
          pen = 'L';
          return step;
        })
        .join('');
    };
    const scale = show(most, 'pressure', units);
    return (
      `${label(words, top + 14)}<text x="${LEFT + 2}" y="${top + 9}" fill="#555">${scale.text} ` +
      `${scale.unit}</text><path d="${path(series.expected)}" fill="none" stroke="#999" stroke-width="1" ` +
      `stroke-dasharray="3 2"/><path d="${path(series.measured)}" fill="none" stroke="#111" ` +
      `stroke-width="0.9"/><path d="M${LEFT} ${top + height}H${WIDTH}" stroke="#999" stroke-width="0.5"/>`
    );
  });
  const bottom = plotted.length * (height + 6);
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${bottom + 18}" role="img" ` +
    'aria-label="Pressures measured and expected over time" font-family="sans-serif" ' +
    `font-size="10">${axis(copy, bottom)}${rows.join('')}</svg>`
  );
}
