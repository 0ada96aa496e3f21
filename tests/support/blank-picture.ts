/** A picture with nothing in it, to be filled with what a test is about. */
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Alarm, Cause, ChannelPicture, Picture, Verdict } from '../../config/wire/wire.ts';

export function blankPicture(atMs: number, changes: Partial<Picture> = {}): Picture {
  return {
    atMs,
    simulated: false,
    advice: { working: true },
    baseline: null,
    steady: null,
    mode: null,
    channels: [],
    pumps: [],
    supplies: [],
    lines: [],
    structures: [],
    heads: [],
    gates: [],
    shocks: [],
    rhythms: [],
    alarms: [],
    setAside: [],
    alarmLoad: null,
    notes: [],
    blind: [],
    ...changes,
  };
}

export function blankChannel(channel: string, changes: Partial<ChannelPicture> = {}): ChannelPicture {
  return {
    channel,
    quantity: 'pressure',
    value: null,
    atMs: null,
    freshness: 'never',
    doubt: null,
    expected: null,
    low: null,
    high: null,
    ...changes,
  };
}

export function blankVerdict(cause: Cause, subject: string, changes: Partial<Verdict> = {}): Verdict {
  return {
    id: `${cause}:${subject}`,
    cause,
    subject,
    subjectKind: 'line',
    places: [],
    sinceMs: 0,
    probability: 0.9,
    sizeM3s: null,
    evidence: [],
    alternatives: [],
    headline: cause,
    check: '',
    warning: null,
    caution: null,
    ask: null,
    carry: [],
    radio: '',
    ...changes,
  };
}

export function blankAlarm(id: string, changes: Partial<Alarm> = {}): Alarm {
  return {
    verdict: blankVerdict('leak', 'line-a', {
      id,
      headline: 'leak on line A',
      check: 'walk it',
      radio: 'Leak on line A.',
    }),
    priority: 'high',
    reason: '8 of 8 structures short, now',
    state: 'unacknowledged',
    raisedMs: 0,
    clearedMs: null,
    acknowledgedBy: null,
    ...changes,
  };
}

export const BLANK_FEED: FeedPicture = {
  broker: { address: 'mqtt://127.0.0.1:1883', state: 'connected', sinceMs: 0 },
  devices: [],
  rejected: [],
  unknownDevices: [],
  assigned: [],
  tares: [],
  journal: { state: 'writing', why: null, entries: { session: '', taken: 0, written: 0 } },
};
