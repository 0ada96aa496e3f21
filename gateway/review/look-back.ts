/**
 * Puts the look back on a run together from its record and the truth track.
 *
 * In: the run's record, its layout, what the crew found. Out: figures, time line, detection. A generator that yields
 * the time it has reached, so that a gateway that watches meanwhile is not held up; its return value is the result.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { AlarmSpan, ChannelQuality, DetectionFigures, Figures, Timeline } from '../../config/wire/review.ts';
import type { TruthEntry } from '../../config/wire/truth.ts';
import type { Note, Picture } from '../../config/wire/wire.ts';
import { readPicture } from '../journal/picture-record.ts';
import type { RunReader } from '../journal/run-reader.ts';
import { alarmLoad } from './alarm-load.ts';
import { deedsOf } from './deeds.ts';
import { detectionOf } from './detection.ts';
import { episodesOf, Wordings, type Episode } from './episodes.ts';
import { UpTimes } from './up-times.ts';
import { WaterBooks } from './water-books.ts';

export interface LookBack {
  readonly figures: Figures;
  readonly timeline: Timeline;
  readonly detection: DetectionFigures;
}

const PICTURES_A_STEP = 20;
/** Time is reckoned in millions here so that blocks of packets are few. */
const PACKET_BLOCK = 1_000_000;

export function* lookBack(
  record: RunReader,
  layout: Layout,
  truth: readonly TruthEntry[],
): Generator<number, LookBack> {
  const ledgers: Ledgers = {
    upTimes: new UpTimes(layout),
    books: new WaterBooks(layout),
    wordings: new Wordings(),
    notes: new Map(),
  };
  const toMs = record.endMs;
  const fromMs = yield* fillIn(ledgers, record, toMs);
  const channels: ChannelQuality[] = [];
  for (const { id, intervalS } of layout.sensors) {
    channels.push(qualityOf(record, id, intervalS, fromMs, toMs));
    yield toMs;
  }
  fuelUsed(ledgers.books, record, layout);
  const { upTimes, books, wordings, notes } = ledgers;
  const episodes = wordings.under(episodesOf(record.transitions()));
  return {
    figures: {
      fromMs,
      toMs,
      holes: upTimes.holes,
      upTimes: upTimes.rows,
      structures: books.structures(frontIn(truth)),
      zones: books.zones,
      pumps: books.pumps,
      tanks: books.tanks,
      load: alarmLoad(episodes, fromMs, toMs),
      channels,
      rejected: rejectedIn(record),
    },
    timeline: {
      lines: upTimes.spans,
      alarms: episodes.map(spanOf),
      deeds: deedsOf(record.entries(), [...notes.values()], layout, episodes),
      truth,
    },
    detection: detectionFigures(episodes, truth, layout, toMs),
  };
}

/** What is added up picture by picture. */
interface Ledgers {
  readonly upTimes: UpTimes;
  readonly books: WaterBooks;
  readonly wordings: Wordings;
  readonly notes: Map<string, Note>;
}

/** Each picture holds until the next one; returns when the first was shown. */
function* fillIn(
  { upTimes, books, wordings, notes }: Ledgers,
  record: RunReader,
  toMs: number,
): Generator<number, number> {
  let before: Picture | null = null;
  let count = 0;
  let fromMs = record.header.startedMs;
  for (const { body } of record.pictureTexts()) {
    const picture = readPicture(body);
    for (const note of picture.notes) notes.set(`${note.atMs} ${note.words}`, note);
    if (before) hold(before, picture.atMs, [upTimes, books, wordings]);
    else fromMs = picture.atMs;
    before = picture;
    count += 1;
    if (count % PICTURES_A_STEP === 0) yield picture.atMs;
  }
  if (before) hold(before, toMs, [upTimes, books, wordings]);
  return fromMs;
}

function fuelUsed(books: WaterBooks, record: RunReader, layout: Layout): void {
  for (const { id } of layout.pumps) {
    const gauge = layout.sensors.find(
      ({ quantity, mounting }) => quantity === 'fuel' && mounting.kind === 'pump' && mounting.pump === id,
    );
    if (gauge) books.fuel(id, record.channels.minuteMeans(gauge.id));
  }
}

/** When the fire's front came to a structure, as the crew tells; else when it came at all. */
function frontIn(truth: readonly TruthEntry[]): (structure: string) => number | null {
  const fronts = truth.filter(({ what }) => what === 'front');
  return (structure) =>
    (fronts.find(({ at }) => at === structure) ?? fronts.find(({ at }) => at === null))?.fromMs ?? null;
}

function rejectedIn(record: RunReader): Figures['rejected'] {
  const refused = record.packets
    .counts(PACKET_BLOCK)
    .filter(({ verdict }) => verdict.includes('/') || verdict === 'unknown-device');
  const reasons = [...new Set(refused.map(({ verdict }) => verdict))].sort();
  return reasons.map((reason) => ({
    reason,
    count: refused.filter(({ verdict }) => verdict === reason).reduce((sum, one) => sum + one.count, 0),
  }));
}

function hold(
  picture: Picture,
  toMs: number,
  ledgers: readonly { hold(picture: Picture, toMs: number): void }[],
): void {
  if (toMs > picture.atMs) for (const ledger of ledgers) ledger.hold(picture, toMs);
}

function qualityOf(
  record: RunReader,
  channel: string,
  intervalS: number,
  fromMs: number,
  toMs: number,
): ChannelQuality {
  const { readings, gaps, gapMs, longestGapMs, outOfRange, late, firstMs, lastMs } = record.channels.quality(
    channel,
    intervalS * 1_000,
  );
  const expected = Math.max(1, Math.round((toMs - fromMs) / (intervalS * 1_000)));
  // Silence before the first reading and after the last is a gap like any other.
  const edges = [firstMs === null ? toMs - fromMs : firstMs - fromMs, lastMs === null ? 0 : toMs - lastMs].filter(
    (ms) => ms > 3_000 * intervalS,
  );
  return {
    channel,
    readings,
    expected,
    share: Math.min(1, readings / expected),
    gaps: gaps + edges.length,
    gapS: (gapMs + edges.reduce((sum, ms) => sum + ms, 0)) / 1_000,
    longestGapS: Math.max(longestGapMs, ...edges) / 1_000,
    outOfRange,
    late,
  };
}

function spanOf({
  alarmId,
  verdict,
  priority,
  raisedMs,
  acknowledgedMs,
  acknowledgedBy,
  clearedMs,
  goneMs,
}: Episode): AlarmSpan {
  return {
    id: alarmId,
    cause: verdict.cause,
    subject: verdict.subject,
    place: verdict.places[0]?.id ?? null,
    priority,
    headline: verdict.headline,
    raisedMs,
    acknowledgedMs,
    acknowledgedBy,
    clearedMs,
    goneMs,
  };
}

function detectionFigures(
  episodes: readonly Episode[],
  truth: readonly TruthEntry[],
  layout: Layout,
  endMs: number,
): DetectionFigures {
  const { found, classes, unseen, alarms } = detectionOf(episodes, truth, layout, endMs);
  return {
    classes,
    unseen,
    alarms,
    found: found.map(({ entry, episode, lagS, acknowledgedLagS, namedRight, placeNamed }) => ({
      number: entry.number,
      alarm: episode?.verdict.headline ?? null,
      lagS,
      acknowledgeS: acknowledgedLagS,
      namedRight,
      placeNamed,
    })),
  };
}
