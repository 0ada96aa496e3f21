/** A look back with nothing in it but its length, 870 minutes from 06:00 UTC, for a test to fill. */
import type { AlarmSpan, Figures, Review, Timeline } from '../../config/wire/review.ts';
import type { Copy } from '../../gateway/review/anonymised.ts';
import { alarmLoad } from '../../gateway/review/alarm-load.ts';

const START_MS = Date.UTC(2026, 6, 14, 6);
export const RUN_MINUTES = 870;
export const minute = (count: number): number => START_MS + 60_000 * count;

interface Parts {
  readonly figures?: Partial<Figures>;
  readonly timeline?: Partial<Timeline>;
  readonly detection?: Partial<Review['detection']>;
}

export function blankCopy({ figures, timeline, detection }: Parts): Copy {
  return {
    site: 'Test site',
    zone: null,
    nameless: false,
    label: (id) => id,
    review: {
      run: 'test-run',
      simulated: false,
      replay: false,
      software: 'test-1',
      layoutRevision: 1,
      layoutFingerprint: '',
      figures: {
        fromMs: START_MS,
        toMs: minute(RUN_MINUTES),
        holes: [],
        upTimes: [],
        structures: [],
        zones: [],
        pumps: [],
        tanks: [],
        load: alarmLoad([], START_MS, minute(RUN_MINUTES)),
        channels: [],
        rejected: [],
        ...figures,
      },
      timeline: { lines: [], alarms: [], deeds: [], truth: [], ...timeline },
      detection: { found: [], classes: [], unseen: [], alarms: [], ...detection },
    },
  };
}

export function blankSpan(changes: Partial<AlarmSpan> = {}): AlarmSpan {
  return {
    id: 'leak:line-a',
    cause: 'leak',
    subject: 'line-a',
    place: null,
    priority: 'medium',
    headline: 'leak on line A',
    raisedMs: START_MS,
    acknowledgedMs: null,
    acknowledgedBy: null,
    clearedMs: null,
    goneMs: null,
    ...changes,
  };
}
