/**
 * Words and marks of every state. A state is always shape, word and colour together; calm states are grey.
 *
 * Out: word, shape name (drawn by parts/StateMark) and tone (a colour group of style/themes.css).
 */
import { LINE_STATE_WORDS } from '../../config/wire/state-words.ts';
import type {
  Alarm,
  ChannelPicture,
  Freshness,
  HeadPicture,
  LineState,
  Picture,
  Priority,
  PumpState,
} from '../../config/wire/wire.ts';
import type { Shape, StateWords, Tone } from './marks.ts';
import { STANDINGS } from './standings.ts';

const line = (state: LineState, shape: Shape, tone: Tone): StateWords => ({
  word: LINE_STATE_WORDS[state],
  shape,
  tone,
});

export const LINE_STATES: Record<LineState, StateWords> = {
  'as-modelled': line('as-modelled', 'dot', 'calm'),
  changed: line('changed', 'ring', 'low'),
  'running-short': line('running-short', 'wedge', 'medium'),
  'running-over': line('running-over', 'arrow', 'medium'),
  down: line('down', 'cross', 'high'),
  unknown: line('unknown', 'query', 'unsure'),
  filling: line('filling', 'half', 'calm'),
  'shut-by-order': line('shut-by-order', 'bar', 'calm'),
  'rigged-dry': line('rigged-dry', 'frame', 'calm'),
};

export const PUMP_STATES: Record<PumpState, StateWords> = {
  stopped: { word: 'stopped', shape: 'frame', tone: 'calm' },
  starting: { word: 'starting, lay filling', shape: 'half', tone: 'calm' },
  running: { word: 'running', shape: 'dot', tone: 'calm' },
  'dead-head': { word: 'deadheaded, no flow: stay away', shape: 'octagon', tone: 'people' },
  unknown: { word: 'unknown', shape: 'query', tone: 'unsure' },
};

export const HEAD_STATES: Record<HeadPicture['state'], StateWords> = {
  dry: { word: 'dry', shape: 'frame', tone: 'calm' },
  flowing: { word: 'flowing', shape: 'dot', tone: 'calm' },
  short: STANDINGS['too-weak'],
  'off?': { word: 'may be off', shape: 'cross', tone: 'high' },
  'plugged?': { word: 'may be plugged', shape: 'bar', tone: 'medium' },
  'above-range': STANDINGS['too-strong'],
  'over-pressure': STANDINGS.breaks,
  unknown: { word: 'unknown', shape: 'query', tone: 'unsure' },
};

export const PRIORITIES: Record<Priority, StateWords> = {
  people: { word: 'Hazard to people', shape: 'octagon', tone: 'people' },
  high: { word: 'High', shape: 'spike', tone: 'high' },
  medium: { word: 'Medium', shape: 'wedge', tone: 'medium' },
  low: { word: 'Low', shape: 'ring', tone: 'low' },
};

export const ALARM_STATES: Record<Alarm['state'], string> = {
  unacknowledged: 'nobody has taken it yet',
  acknowledged: 'taken',
  'returned-unacknowledged': 'over, but nobody has seen it',
  shelved: 'on the shelf',
  suppressed: 'held back',
};

export const FRESHNESS: Record<Freshness, StateWords> = {
  fresh: { word: 'fresh', shape: 'dot', tone: 'calm' },
  late: { word: 'late', shape: 'half', tone: 'unsure' },
  stale: { word: 'stale', shape: 'query', tone: 'unsure' },
  never: { word: 'never heard', shape: 'frame', tone: 'unsure' },
};

const DOUBTS: Record<NonNullable<ChannelPicture['doubt']>, string> = {
  stuck: 'stuck: it does not move as a live sensor does',
  'out-of-range': 'outside its measuring range',
  'over-range': 'past the end of its range: it is at least this',
  drifting: 'reads wrong against the others',
};

export function doubtWords(doubt: ChannelPicture['doubt']): string | null {
  return doubt && DOUBTS[doubt];
}

/**
 * How a channel stands against its band: in, below, above; null where nothing can be compared. By its last seconds as
 * the gateway judges them; by its reading in older records.
 */
export function standing(
  channel: ChannelPicture | null,
  outside?: Picture['outside'],
): 'inside' | 'below' | 'above' | null {
  if (
    !channel ||
    channel.value === null ||
    channel.low === null ||
    channel.high === null ||
    channel.freshness === 'stale'
  )
    return null;
  if (outside) return outside.find((one) => one.channel === channel.channel)?.side ?? 'inside';
  return sideOfReading(channel);
}

/** Where its one last reading stands. */
export function sideOfReading(channel: ChannelPicture): 'inside' | 'below' | 'above' | null {
  if (channel.value === null || channel.low === null || channel.high === null) return null;
  return channel.value < channel.low ? 'below' : channel.value > channel.high ? 'above' : 'inside';
}

/** `83 %, very likely`. */
export function chanceWords(probability: number): string {
  const word =
    probability >= 0.95
      ? 'almost certain'
      : probability >= 0.8
        ? 'very likely'
        : probability >= 0.6
          ? 'likely'
          : probability >= 0.4
            ? 'about even'
            : probability >= 0.15
              ? 'possible'
              : 'unlikely';
  return `${percentWords(probability)}, ${word}`;
}

/** Never '100 %' and never '0 %': nothing here is certain. */
export function percentWords(probability: number): string {
  return `${Math.min(99, Math.max(1, Math.round(probability * 100)))} %`;
}
