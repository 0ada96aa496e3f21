/**
 * The machine-readable bundle of a run: everything a later reader needs, with the SHA-256 sum of every file.
 *
 * In: a copy of the look back, the record, photos. Out: a gzipped tar, piece by piece, so that a large run neither
 * fills the memory nor holds the gateway up. Readings are one CSV a channel, in SI as recorded. An anonymised copy has
 * no layout, no verdicts in words and no photos.
 */
import { createHash } from 'node:crypto';
import { createGzip } from 'node:zlib';
import { pipeline, Readable } from 'node:stream';
import type { Layout } from '../../../config/layout/layout.ts';
import { ADVISORY_LINE } from '../../../config/safety.ts';
import type { RunReader } from '../../journal/run-reader.ts';
import type { TruthFile } from '../../journal/truth-file.ts';
import { localText, utcText } from '../clock-text.ts';
import { csvLine, csvText } from '../csv.ts';
import { withoutIds, type Copy } from '../anonymised.ts';
import { reportPage } from '../report-page.ts';
import { originOf, tablesOf } from '../tables.ts';
import { TAR_END, tarEntry } from '../tar.ts';

export interface BundleParts {
  readonly copy: Copy;
  readonly layout: Layout;
  readonly record: RunReader;
  readonly truth: TruthFile;
  readonly madeMs: number;
}

const ROWS_A_BREATH = 5_000;
const KINDS: Readonly<Record<string, string>> = { 'image/jpeg': 'jpg', 'image/png': 'png', 'image/webp': 'webp' };

/** Whoever stops reading stops the work. */
export function bundleStream(parts: BundleParts): Readable {
  return pipeline(Readable.from(archive(parts)), createGzip({ level: 6 }), () => undefined);
}

async function* archive(parts: BundleParts): AsyncGenerator<Buffer> {
  const sums: string[] = [];
  const entry = (path: string, bytes: Buffer): Buffer[] => {
    sums.push(`${createHash('sha256').update(bytes).digest('hex')}  ${path}`);
    return tarEntry(path, bytes, parts.madeMs);
  };
  for await (const [path, bytes] of files(parts)) yield* entry(path, bytes);
  yield* tarEntry('SHA256SUMS', Buffer.from(`${sums.join('\n')}\n`), parts.madeMs);
  yield TAR_END;
}

async function* files(parts: BundleParts): AsyncGenerator<readonly [string, Buffer]> {
  const { copy, layout, record, truth } = parts;
  yield ['README.txt', Buffer.from(readme(parts))];
  yield [
    'look-back.json',
    Buffer.from(
      `${JSON.stringify({ origin: originOf(copy), advisory: ADVISORY_LINE, ...withoutIds(copy) }, null, 1)}\n`,
    ),
  ];
  yield ['report.html', Buffer.from(reportPage(copy, layout, record, parts.madeMs).html)];
  for (const table of tablesOf(copy)) yield [`${table.name}.csv`, Buffer.from(csvText(table))];
  for (const [index, { id }] of layout.sensors.entries())
    yield [`readings/${copy.nameless ? `sensor-${index + 1}` : id}.csv`, await readings(parts, id)];
  if (copy.nameless) return;
  yield ['layout.yaml', Buffer.from(record.header.layoutText)];
  yield [
    'verdicts.ndjson',
    Buffer.from(
      record
        .transitions()
        .map((one) => `${JSON.stringify({ origin: originOf(copy), advisory: ADVISORY_LINE, ...one })}\n`)
        .join(''),
    ),
  ];
  for (const { number, type } of copy.review.timeline.truth.flatMap(({ photos }) => photos)) {
    const photo = truth.photo(number);
    if (photo) yield [`photos/${number}.${KINDS[type] ?? 'bin'}`, photo.bytes];
  }
}

async function readings({ copy, layout, record }: BundleParts, channel: string): Promise<Buffer> {
  const origin = originOf(copy);
  const quantity = layout.sensors.find(({ id }) => id === channel)!.quantity;
  const pieces = [
    csvLine([
      'origin',
      'local',
      'utc',
      'at_ms',
      `${quantity}_si`,
      'received_utc',
      'device_utc',
      'in_range',
      'in_time',
      ADVISORY_LINE,
    ]),
  ];
  let rows = 0;
  for (const { atMs, value, receivedMs, deviceMs, inRange, live } of record.channels.readings(channel)) {
    pieces.push(
      csvLine([
        origin,
        localText(atMs, copy.zone),
        utcText(atMs),
        atMs,
        value,
        utcText(receivedMs),
        utcText(deviceMs),
        inRange,
        live,
        null,
      ]),
    );
    rows += 1;
    if (rows % ROWS_A_BREATH === 0)
      await new Promise((done) => {
        setImmediate(done);
      });
  }
  return Buffer.from(pieces.join(''));
}

function readme({ copy, madeMs }: BundleParts): string {
  const { review, site } = copy;
  return [
    `${originOf(copy)}: ${site}, ${review.run}`,
    ...(review.simulated ? ['EXERCISE. SIMULATED: nothing in here happened.'] : []),
    ...(copy.nameless ? ['Names, places, initials, typed words and photos were removed.'] : []),
    (
      `Recorded by version ${review.software}, layout revision ${review.layoutRevision} ` +
      `${review.layoutFingerprint}`
    ).trim(),
    `From ${utcText(review.figures.fromMs)} to ${utcText(review.figures.toMs)} ` +
      `UTC${copy.zone === null ? '' : `, local zone ${copy.zone}`}; made ${utcText(madeMs)} by the ` +
      `wall's clock.`,
    'Values are SI: Pa gauge, m3/s, m3, m, Hz, degrees Celsius, s. An empty cell is not known, never zero.',
    'look-back.json: all figures; *.csv: the same as tables; readings/: as recorded; verdicts.ndjson: ' +
      'every alarm as it was told; SHA256SUMS: sha256sum -c SHA256SUMS',
    `${ADVISORY_LINE} Flowing is not turning, and no figure here says that a place was safe.`,
    '',
  ].join('\n');
}
