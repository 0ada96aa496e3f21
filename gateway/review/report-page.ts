/**
 * The after-action page to print: what ran, what failed, what the screen said about it, on one sheet, with its plots
 * inside.
 *
 * In: a copy of a look back, the record for the plots. Out: one HTML text without scripts and without anything from
 * elsewhere, and the text of its style sheet, whose hash a server may allow. A simulated run says so across the head
 * and behind the figures.
 */
import { ZONES, type Layout, type UnitSystem } from '../../config/layout/layout.ts';
import type { UpTime } from '../../config/wire/review.ts';
import { ADVISORY_LINE } from '../../config/safety.ts';
import { show, type Shown } from '../../config/units.ts';
import type { RunReader } from '../journal/run-reader.ts';
import { localText, utcText } from './clock-text.ts';
import type { Copy } from './anonymised.ts';
import { clockText, escapeText, pressurePlot, TIMELINE_KEY, timelinePlot, type PlottedSeries } from './report-plots.ts';
import { originOf } from './tables.ts';

const REPORT_STYLE = `
@page{size:A4;margin:10mm}
body{font:11px/1.3 sans-serif;color:#111;background:#fff;margin:8px;max-width:1050px}
h1{font-size:17px;margin:0}
h2{font-size:12px;margin:8px 0 2px}
.mark{border:3px double #111;font-weight:800;letter-spacing:.2em;text-align:center;padding:2px;margin-bottom:4px}
p{margin:2px 0}
table{border-collapse:collapse;width:100%}
td,th{border-bottom:1px solid #bbb;text-align:left;padding:1px 6px 1px 0;vertical-align:top}
.columns{columns:2;column-gap:18px}
section{break-inside:avoid}
svg{width:100%;height:auto;display:block}
@media print{
  body{font-size:7.5px;margin:0}
  h1{font-size:13px}
  h2{font-size:9px;margin:4px 0 1px}
  tr{break-inside:avoid}
}
`;

/** Judgement: a sheet has room for so many of each. */
const ALARMS_SHOWN = 14;
const PLOTS_SHOWN = 4;

export function reportPage(
  copy: Copy,
  layout: Layout,
  record: RunReader,
  madeMs: number,
): { readonly html: string; readonly style: string } {
  const { review } = copy;
  const { figures } = review;
  const units = layout.units;
  const heading = `${escapeText(copy.site)}: after-action page`;
  const mark =
    originOf(copy) === 'record'
      ? ''
      : `<p class="mark">${escapeText(originOf(copy))}${review.simulated ? ': nothing here happened' : ''}</p>`;
  const span = `${momentText(copy, figures.fromMs)} to ${momentText(copy, figures.toMs)}`;
  const body = [
    mark,
    `<h1>${heading}</h1>`,
    `<p>Run ${escapeText(review.run)}, ${span}. Recorded by version ${escapeText(review.software)}, ` +
      `layout revision ${review.layoutRevision}. Made ` +
      `${utcText(madeMs)}.${copy.nameless ? ' Names, places, initials and typed words were removed.' : ''}</p>`,
    figures.holes.length > 0
      ? `<p><b>${figures.holes.length} ${figures.holes.length === 1 ? 'stretch' : 'stretches'} without a ` +
        'record</b>: all is unknown there.</p>'
      : '',
    `<h2>Time line</h2>${timelinePlot(copy)}<p>${TIMELINE_KEY}</p>`,
    `<h2>Pressures</h2>${pressurePlot(copy, plottedOf(copy, layout, record), units)}`,
    '<div ' +
      `class="columns"><section><h2>Availability</h2>${availabilityTable(copy)}</section><section><h2>What ` +
      `was flagged</h2>${alarmTable(copy)}</section>`,
    `<section><h2>What was found on site</h2>${foundTable(copy)}</section><section><h2>Pump and ` +
      `tank</h2>${machineTable(copy, units)}</section>`,
    '<section><h2>Alarm load against ' +
      `target</h2>${loadTable(copy)}</section><section><h2>Sensors</h2>${sensorWords(copy)}</section></div>`,
    `<h2>Water</h2>${waterTable(copy, units)}`,
    `<p>${ADVISORY_LINE} Flowing is not turning; unknown is never counted as up; no figure here says ` +
      'that a place was safe.</p>',
    mark,
  ].join('\n');
  const title = [review.replay ? 'REPLAY' : '', review.simulated ? 'SIMULATED' : '', copy.site]
    .filter((word) => word !== '')
    .join(' · ');
  return {
    style: REPORT_STYLE,
    html:
      `<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>${escapeText(title)}</title>` +
      `<style>${REPORT_STYLE}</style></head><body>\n${body}\n</body></html>\n`,
  };
}

function plottedOf(copy: Copy, layout: Layout, record: RunReader): PlottedSeries[] {
  const { fromMs, toMs } = copy.review.figures;
  const shown = layout.sensors
    .filter(
      ({ quantity, mounting, line }) => quantity === 'pressure' && (mounting.kind === 'discharge' || line !== null),
    )
    .slice(0, PLOTS_SHOWN);
  return shown.flatMap(({ id }) => {
    const series = record.channels.series(layout, id, fromMs, toMs);
    return series ? [{ label: copy.label(id), series }] : [];
  });
}

function table(header: readonly string[], rows: readonly (readonly string[])[], none: string): string {
  if (rows.length === 0) return `<p>${none}</p>`;
  const line = (cells: readonly string[], tag: 'th' | 'td'): string =>
    `<tr>${cells.map((cell) => `<${tag}>${escapeText(cell)}</${tag}>`).join('')}</tr>`;
  return `<table>${line(header, 'th')}${rows.map((row) => line(row, 'td')).join('')}</table>`;
}

function lastsText(seconds: number | null): string {
  if (seconds === null) return 'not known';
  const size = Math.abs(seconds);
  const words =
    size < 120
      ? `${Math.round(size)} s`
      : size < 7_200
        ? `${Math.round(size / 60)} min`
        : `${(size / 3_600).toFixed(1)} h`;
  return seconds < 0 ? `−${words}` : words;
}

function percent(share: number | null): string {
  return share === null ? 'never ran' : `${(100 * share).toFixed(1)} %`;
}

function momentText(copy: Copy, atMs: number): string {
  const utc = `${utcText(atMs)!.slice(0, 16).replace('T', ' ')}Z`;
  return copy.zone === null ? utc : `${localText(atMs, copy.zone)!.slice(0, 16).replace('T', ' ')} local (${utc})`;
}

function amount(value: number | null, what: Shown, units: UnitSystem): string {
  const { text, unit } = show(value, what, units);
  return value === null ? 'not known' : `${text} ${unit}`;
}

function availabilityTable({ review, label }: Copy): string {
  const rows = review.figures.upTimes.filter(({ kind }) => kind !== 'head');
  const heads = review.figures.upTimes
    .filter(({ kind, upShare }) => kind === 'head' && upShare !== null)
    .sort((a, b) => a.upShare! - b.upShare!)
    .slice(0, 5);
  return (
    table(
      ['', 'up', 'impaired', 'failed', 'unknown'],
      [...rows, ...heads].map((row: UpTime) => [
        label(row.id),
        percent(row.upShare),
        lastsText(row.shortS),
        lastsText(row.downS),
        lastsText(row.unknownS),
      ]),
      'Nothing ran.',
    ) + (heads.length > 0 ? '<p>Of the heads, the five that were up least.</p>' : '')
  );
}

function waterTable({ review, label, zone }: Copy, units: UnitSystem): string {
  const { structures, zones } = review.figures;
  const zoneCell = (structure: string, zone: string): string => {
    const row = zones.find((one) => one.structure === structure && one.zone === zone);
    return row ? `${amount(row.volumeM3, 'volume', units)}, ${(1_000 * row.depthM).toFixed(1)} mm` : '';
  };
  return table(
    ['structure', 'first water', 'dry', 'unknown', 'lead', ...ZONES],
    structures.map((row) => [
      label(row.structure),
      row.firstWaterMs === null ? 'none' : clockText(row.firstWaterMs, zone),
      lastsText(row.dryS),
      lastsText(row.unknownS),
      row.leadS === null ? 'no front entered' : lastsText(row.leadS),
      ...ZONES.map((name) => zoneCell(row.structure, name)),
    ]),
    'No water was seen.',
  );
}

function machineTable({ review, label }: Copy, units: UnitSystem): string {
  const pumps = review.figures.pumps.map((row) => [
    label(row.pump),
    `ran ${lastsText(row.runS)}, started ${row.starts} times, deadheaded ${lastsText(row.shutInS)}, ` +
      `unknown ${lastsText(row.unknownS)}, fuel ${amount(row.fuelUsedM3, 'volume', units)}`,
  ]);
  const tanks = review.figures.tanks.map((row) => [
    label(row.source),
    `least ${amount(row.leastM3, 'volume', units)}, at the end ${amount(row.lastM3, 'volume', units)}`,
  ]);
  return table(['', ''], [...pumps, ...tanks], 'None.');
}

function loadTable({ review }: Copy): string {
  const { load } = review.figures;
  return table(
    ['', 'here', 'target'],
    [
      ['an hour', load.perHour.toFixed(1), 'about 6'],
      ['most in an hour', String(load.worstHour), '12'],
      ...load.priorities.map(({ priority, share, count, target }) => [
        priority,
        `${count} (${Math.round(100 * share)} %)`,
        target === null ? '' : `${Math.round(100 * target)} %`,
      ]),
      ['chattering', String(load.chattering), 'none'],
      [
        'acknowledged after, median / longest',
        `${lastsText(load.medianAcknowledgeS)} / ${lastsText(load.worstAcknowledgeS)}`,
        '',
      ],
      ['never acknowledged', String(load.neverAcknowledged), 'none'],
    ],
    '',
  );
}

function alarmTable({ review, zone }: Copy): string {
  const { alarms } = review.timeline;
  const rows = alarms
    .slice(0, ALARMS_SHOWN)
    .map((one) => [
      clockText(one.raisedMs, zone),
      one.clearedMs === null ? 'not over' : lastsText((one.clearedMs - one.raisedMs) / 1_000),
      one.headline,
    ]);
  return (
    table(['at', 'for', ''], rows, 'Nothing was flagged.') +
    (alarms.length > ALARMS_SHOWN ? `<p>And ${alarms.length - ALARMS_SHOWN} more, in the table of alarms.</p>` : '')
  );
}

function foundTable({ review, label, zone }: Copy): string {
  const { timeline, detection } = review;
  return table(
    ['at', 'what', 'where', 'flagged after'],
    timeline.truth.map((one) => {
      const found = detection.found.find(({ number }) => number === one.number);
      const lag =
        found === undefined
          ? ''
          : found.alarm === null
            ? detection.unseen.some(({ what }) => what === one.what)
              ? 'cannot be seen here'
              : 'missed'
            : `${lastsText(found.lagS)}${found.namedRight ? '' : ', under another name'}`;
      return [clockText(one.fromMs, zone), one.what.replaceAll('-', ' '), one.at === null ? '' : label(one.at), lag];
    }),
    'Nobody has entered what was found: neither misses nor false alarms can be told.',
  );
}

function sensorWords({ review, label }: Copy): string {
  const worst = [...review.figures.channels].sort((a, b) => a.share - b.share).slice(0, 4);
  const rejected = review.figures.rejected.reduce((sum, { count }) => sum + count, 0);
  return (
    table(
      ['least heard', 'of what was due', 'longest gap'],
      worst.map((row) => [label(row.channel), percent(row.share), lastsText(row.longestGapS)]),
      'None.',
    ) + `<p>${rejected} packets were refused.</p>`
  );
}
