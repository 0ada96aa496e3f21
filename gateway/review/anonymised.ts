/**
 * What an export calls things and people: by their names, or by numbers in a copy without names and places.
 *
 * In: layout, a look back, which copy. Out: the look back as that copy may hold it, and a label for every part. An
 * anonymised copy has no site, label, initials, typed words, photo, position or time zone; causes, times and figures
 * stay. Limit: times of day stay, and whoever knows the event will know it again.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Review } from '../../config/wire/review.ts';

export interface Copy {
  readonly review: Review;
  readonly site: string;
  /** Null: no local time. */
  readonly zone: string | null;
  readonly nameless: boolean;
  /** What a part is called; part ids of the layout in. */
  readonly label: (id: string) => string;
}

export function namedCopy(review: Review, layout: Layout): Copy {
  const labels = new Map(partsOf(layout).map(({ id, label }) => [id, label]));
  return {
    review,
    site: layout.name,
    zone: layout.timeZone,
    nameless: false,
    label: (id) => (id === 'trunk' ? 'trunk' : (labels.get(id) ?? id)),
  };
}

export function namelessCopy(review: Review, layout: Layout): Copy {
  const label = numberedLabels(layout);
  return { site: 'a site', zone: null, nameless: true, label, review: nameless(review, label) };
}

/** `head 7` and the like, by where a part stands in the layout. */
function numberedLabels(layout: Layout): Copy['label'] {
  const kinds: readonly (readonly [string, readonly { readonly id: string }[]])[] = [
    ['source', layout.sources],
    ['pump', layout.pumps],
    ['structure', layout.structures],
    ['line', layout.lines],
    ['head', layout.heads],
    ['gate', layout.gates],
    ['hose', layout.hoses],
    ['sensor', layout.sensors],
    ['place', layout.places],
  ];
  const labels = new Map(
    kinds.flatMap(([kind, parts]) => parts.map(({ id }, index) => [id, `${kind} ${index + 1}`] as const)),
  );
  return (id) => (id === 'trunk' || id === 'site' ? id : (labels.get(id) ?? 'a part'));
}

/** One number a person, in the order in which they turn up. */
function numberedPeople(): (by: string | null) => string | null {
  const people = new Map<string, string>();
  return (by) => {
    if (by === null) return null;
    if (!people.has(by)) people.set(by, `person ${people.size + 1}`);
    return people.get(by)!;
  };
}

function nameless(review: Review, label: Copy['label']): Review {
  const person = numberedPeople();
  const told = (cause: string, subject: string): string => `${cause.replaceAll('-', ' ')}: ${label(subject)}`;
  const { figures, timeline, detection } = review;
  return {
    ...review,
    run: 'a run',
    layoutFingerprint: '',
    figures,
    detection: {
      ...detection,
      found: detection.found.map((row) => ({ ...row, alarm: row.alarm === null ? null : 'flagged' })),
    },
    timeline: {
      lines: timeline.lines,
      alarms: timeline.alarms.map((alarm) => ({
        ...alarm,
        id: told(alarm.cause, alarm.subject),
        headline: told(alarm.cause, alarm.subject),
        acknowledgedBy: person(alarm.acknowledgedBy),
      })),
      deeds: timeline.deeds.map((deed) => ({
        ...deed,
        words: deed.by === null ? 'noted by the gateway (words removed)' : 'entered (words removed)',
        by: person(deed.by),
      })),
      truth: timeline.truth.map((entry) => ({
        ...entry,
        by: person(entry.by)!,
        words: entry.words === '' ? '' : '(words removed)',
        photos: [],
      })),
    },
  };
}

/** The same, with ids too replaced, for what is written as data. */
export function withoutIds({ review, label, nameless }: Copy): Review {
  if (!nameless) return review;
  const { figures, timeline, detection } = review;
  return {
    ...review,
    detection,
    figures: {
      ...figures,
      upTimes: figures.upTimes.map((row) => ({ ...row, id: label(row.id) })),
      structures: figures.structures.map((row) => ({ ...row, structure: label(row.structure) })),
      zones: figures.zones.map((row) => ({ ...row, structure: label(row.structure) })),
      pumps: figures.pumps.map((row) => ({ ...row, pump: label(row.pump) })),
      tanks: figures.tanks.map((row) => ({ ...row, source: label(row.source) })),
      channels: figures.channels.map((row) => ({ ...row, channel: label(row.channel) })),
    },
    timeline: {
      ...timeline,
      lines: timeline.lines.map((row) => ({ ...row, line: label(row.line) })),
      alarms: timeline.alarms.map((row) => ({
        ...row,
        subject: label(row.subject),
        place: row.place === null ? null : label(row.place),
      })),
      truth: timeline.truth.map((row) => ({ ...row, at: row.at === null ? null : label(row.at) })),
    },
  };
}

function partsOf(layout: Layout): readonly { readonly id: string; readonly label: string }[] {
  return [
    layout.sources,
    layout.pumps,
    layout.structures,
    layout.lines,
    layout.heads,
    layout.gates,
    layout.hoses,
    layout.sensors,
    layout.places,
  ].flat();
}
