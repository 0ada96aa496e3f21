/**
 * Lays of the scorecard with other gauges than the aims are stated for: a pump box that speaks seldom, all gauges that
 * do, and gauges that the layout does not have or that fall silent before the trouble.
 *
 * In: a layout and words like 'box=10 without=flow,speed silent=ends' (seconds between readings of the pump's gauges;
 * `all=`: of every gauge; names: flow, speed, discharge, suction, ends). Out: the layout with those gauges, and what
 * falls silent. No words: the layout as it is.
 */
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import { done, type Chore } from './normal-life.ts';

const NAMES = ['flow', 'speed', 'discharge', 'suction', 'ends'] as const;
type Name = (typeof NAMES)[number];

interface GaugeSet {
  readonly boxS: number | null;
  readonly allS: number | null;
  readonly without: readonly Name[];
  readonly silent: readonly Name[];
}

/** Throws with what is wrong about the words. */
function gaugeSet(words: string): GaugeSet {
  const set: { boxS: number | null; allS: number | null; without: Name[]; silent: Name[] } = {
    boxS: null,
    allS: null,
    without: [],
    silent: [],
  };
  for (const word of words.split(' ').filter(Boolean)) {
    const [key, value = ''] = word.split('=');
    const seconds = Number(value);
    const names = value.split(',').map((text) => NAMES.find((name) => name === text));
    if ((key === 'box' || key === 'all') && seconds >= 1 && seconds <= 600) set[`${key}S`] = seconds;
    else if ((key === 'without' || key === 'silent') && names.every((name) => name !== undefined)) set[key] = names;
    else
      throw new RangeError(`Gauges '${word}': give box=SECONDS, all=SECONDS, without= or silent=${NAMES.join(',')}.`);
  }
  return set;
}

function nameOf({ quantity, mounting, line }: Sensor): Name | null {
  if (quantity === 'rotation') return 'speed';
  if (quantity === 'flow') return 'flow';
  if (quantity !== 'pressure') return null;
  if (mounting.kind === 'discharge' || mounting.kind === 'suction') return mounting.kind;
  return line === null ? null : 'ends';
}

export function withGauges(layout: Layout, words: string): Layout {
  const { boxS, allS, without } = gaugeSet(words);
  const sensors = layout.sensors
    .filter((sensor) => !without.some((name) => name === nameOf(sensor)))
    .map((sensor) => {
      if (sensor.quantity === 'pulse') return sensor;
      const own = nameOf(sensor) === 'ends' ? allS : (allS ?? boxS);
      return { ...sensor, intervalS: Math.max(sensor.intervalS, own ?? 0) };
    });
  return { ...layout, sensors };
}

/** Judgement: gauges fall silent long enough before the trouble to be drawn as old. */
const BEFORE_S = 20;

/** What falls silent, before something is wrong at `onsetS`. */
export function silences(layout: Layout, words: string | undefined, onsetS: number): Chore[] {
  const { silent } = gaugeSet(words ?? '');
  return layout.sensors
    .filter((sensor) => silent.some((name) => name === nameOf(sensor)))
    .map(({ id }) => done(onsetS - BEFORE_S, 'battery', `${id} falls silent`, 'sensor-silent', id));
}
