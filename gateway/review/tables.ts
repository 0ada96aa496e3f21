/**
 * The tables of an after-action export. Each row says where it comes from, so that a simulated run cannot pass for a
 * real one in any spreadsheet that a part of it was copied to; each table says that it only advises.
 *
 * In: a copy of a look back. Out: tables in SI with units in their headers; times local (not in a nameless copy) and
 * UTC.
 */
import { ACCEPTABLE_AN_HOUR, MOST_AN_HOUR, MOST_IN_TEN_MINUTES, MOST_STALE } from '../../config/alarm-targets.ts';
import { ADVISORY_LINE } from '../../config/safety.ts';
import type { Cell, Table } from './csv.ts';
import { localText, utcText } from './clock-text.ts';
import type { Copy } from './anonymised.ts';

/** `EXERCISE, SIMULATED`, `REPLAY`, both, or `record`. */
export function originOf({ review }: Copy): string {
  return [
    review.simulated ? 'EXERCISE, SIMULATED' : '',
    review.replay ? 'REPLAY of the record, as shown then' : 'record',
  ]
    .filter((word) => word !== '')
    .join(', ');
}

/** Every table that an export holds, in the order in which they are listed. */
export function tablesOf(copy: Copy): Table[] {
  const sheets = sheetsOf(copy);
  return [
    ...alarmTables(sheets),
    ...toldTables(sheets),
    ...detectionTables(sheets),
    ...waterTables(sheets),
    ...plantTables(sheets),
    ...feedTables(sheets, copy),
    ...stretchTables(sheets),
  ];
}

/** How a copy writes what every table holds: times in two clocks, names, where it comes from. */
interface Sheets {
  readonly review: Copy['review'];
  readonly times: (atMs: number | null) => Cell[];
  readonly name: (id: string | null) => Cell;
  readonly table: (name: string, header: readonly string[], rows: readonly (readonly Cell[])[]) => Table;
}

function sheetsOf(copy: Copy): Sheets {
  const origin = originOf(copy);
  return {
    review: copy.review,
    times: (atMs) => [localText(atMs, copy.zone), utcText(atMs)],
    name: (id) => (id === null ? null : copy.label(id)),
    table: (name, header, rows) => ({
      name,
      // Its own column, empty below: a table in CSV has no other place for a sentence.
      header: ['origin', ...header, ADVISORY_LINE],
      rows: rows.map((row) => [origin, ...row, null]),
    }),
  };
}

/** What was shown. */
function alarmTables({ review: { timeline }, times, name, table }: Sheets): Table[] {
  return [
    table(
      'alarms',
      [
        'raised_local',
        'raised_utc',
        'taken_utc',
        'taken_by',
        'over_utc',
        'gone_utc',
        'priority',
        'cause',
        'subject',
        'likeliest_place',
        'headline',
      ],
      timeline.alarms.map((one) => [
        ...times(one.raisedMs),
        utcText(one.acknowledgedMs),
        one.acknowledgedBy,
        utcText(one.clearedMs),
        utcText(one.goneMs),
        one.priority,
        one.cause,
        name(one.subject),
        name(one.place),
        one.headline,
      ]),
    ),
  ];
}

/** What people did and found. */
function toldTables({ review: { timeline, detection }, times, name, table }: Sheets): Table[] {
  return [
    table(
      'deeds',
      ['local', 'utc', 'by', 'taken', 'words'],
      timeline.deeds.map((one) => [...times(one.atMs), one.by ?? 'gateway', !one.refused, one.words]),
    ),
    table(
      'truth',
      [
        'from_local',
        'from_utc',
        'to_utc',
        'what',
        'at',
        'by',
        'words',
        'flagged_as',
        'lag_s',
        'named_right',
        'place_named',
        'photos',
      ],
      timeline.truth.map((one) => {
        const found = detection.found.find(({ number }) => number === one.number);
        return [
          ...times(one.fromMs),
          utcText(one.toMs),
          one.what,
          name(one.at),
          one.by,
          one.words,
          found?.alarm ?? null,
          found?.lagS ?? null,
          found?.namedRight ?? null,
          found?.placeNamed ?? null,
          one.photos.length,
        ];
      }),
    ),
  ];
}

/** How the one bears the other out. */
function detectionTables({ review: { detection }, table }: Sheets): Table[] {
  return [
    table(
      'detection',
      ['class', 'observable', 'found', 'flagged', 'missed', 'named_right', 'median_lag_s', 'worst_lag_s'],
      [
        ...detection.classes.map((row) => [row, true] as const),
        ...detection.unseen.map((row) => [row, false] as const),
      ].map(([row, seen]) => [
        row.what,
        seen,
        row.found,
        row.flagged,
        row.missed,
        row.namedRight,
        row.medianLagS,
        row.worstLagS,
      ]),
    ),
    table(
      'alarm-fates',
      ['cause', 'alarms', 'right', 'other_name', 'false', 'nobody_has_said'],
      detection.alarms.map((row) => [row.cause, row.alarms, row.right, row.otherName, row.refuted, row.unsaid]),
    ),
  ];
}

/** What lines, heads and structures got. */
function waterTables({ review: { figures }, times, name, table }: Sheets): Table[] {
  return [
    table(
      'availability',
      ['kind', 'name', 'up_share', 'up_s', 'short_s', 'down_s', 'unknown_s', 'filling_s', 'shut_by_order_s'],
      figures.upTimes.map((row) => [
        row.kind,
        name(row.id),
        row.upShare,
        row.upS,
        row.shortS,
        row.downS,
        row.unknownS,
        row.fillingS,
        row.shutS,
      ]),
    ),
    table(
      'structures',
      ['structure', 'first_water_local', 'first_water_utc', 'received_m3', 'dry_s', 'short_s', 'unknown_s', 'lead_s'],
      figures.structures.map((row) => [
        name(row.structure),
        ...times(row.firstWaterMs),
        row.receivedM3,
        row.dryS,
        row.shortS,
        row.unknownS,
        row.leadS,
      ]),
    ),
    table(
      'zones',
      ['structure', 'zone', 'area_m2', 'volume_m3', 'depth_m', 'unknown_s'],
      figures.zones.map((row) => [name(row.structure), row.zone, row.areaM2, row.volumeM3, row.depthM, row.unknownS]),
    ),
  ];
}

/** What pumps and tanks did. */
function plantTables({ review: { figures }, times, name, table }: Sheets): Table[] {
  return [
    table(
      'pumps',
      ['pump', 'run_s', 'filling_s', 'shut_in_s', 'unknown_s', 'starts', 'fuel_used_m3', 'refuelled'],
      figures.pumps.map((row) => [
        name(row.pump),
        row.runS,
        row.fillingS,
        row.shutInS,
        row.unknownS,
        row.starts,
        row.fuelUsedM3,
        row.refuelled,
      ]),
    ),
    table(
      'tanks',
      ['source', 'least_m3', 'least_local', 'least_utc', 'first_m3', 'last_m3'],
      figures.tanks.map((row) => [name(row.source), row.leastM3, ...times(row.leastMs), row.firstM3, row.lastM3]),
    ),
  ];
}

/** What was asked of people and of the feed. */
function feedTables({ review: { figures }, name, table }: Sheets, copy: Copy): Table[] {
  return [
    table('alarm-load', ['what', 'value', 'target'], loadRows(copy)),
    table(
      'data-quality',
      ['channel', 'readings', 'expected', 'share', 'gaps', 'gap_s', 'longest_gap_s', 'out_of_range', 'late'],
      figures.channels.map((row) => [
        name(row.channel),
        row.readings,
        row.expected,
        row.share,
        row.gaps,
        row.gapS,
        row.longestGapS,
        row.outOfRange,
        row.late,
      ]),
    ),
    table(
      'rejected',
      ['reason', 'packets'],
      figures.rejected.map((row) => [row.reason, row.count]),
    ),
  ];
}

/** Stretches of time: states of the lines, and where nothing was shown. */
function stretchTables({ review: { timeline, figures }, times, name, table }: Sheets): Table[] {
  return [
    table(
      'line-states',
      ['line', 'from_local', 'from_utc', 'to_utc', 'state'],
      timeline.lines.flatMap(({ line, spans }) =>
        spans.map((span) => [name(line), ...times(span.fromMs), utcText(span.toMs), span.state]),
      ),
    ),
    table(
      'holes',
      ['from_local', 'from_utc', 'to_utc'],
      figures.holes.map((hole) => [...times(hole.fromMs), utcText(hole.toMs)]),
    ),
  ];
}

function loadRows({ review }: Copy): Cell[][] {
  const { load } = review.figures;
  return [
    ['alarms', load.alarms, null],
    ['hours', load.hours, null],
    ['alarms an hour', load.perHour, ACCEPTABLE_AN_HOUR],
    ['most in an hour', load.worstHour, MOST_AN_HOUR],
    ['most in ten minutes', load.worstTenMinutes, MOST_IN_TEN_MINUTES],
    ...load.priorities.map(({ priority, share, target }): Cell[] => [`share ${priority}`, share, target]),
    ['chattering', load.chattering, 0],
    ['standing for a day', load.stale, MOST_STALE],
    ['median time to acknowledge, s', load.medianAcknowledgeS, null],
    ['longest time to acknowledge, s', load.worstAcknowledgeS, null],
    ['never acknowledged', load.neverAcknowledged, 0],
  ];
}
