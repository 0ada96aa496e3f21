/**
 * Sentences on what cannot be seen here: by physics, by the sensors that this layout has, and by what is missing now.
 *
 * In: layout and the present state. Out: sentences, the ones about now first. They stand next to every status.
 */
import type { Layout, Sensor } from '../../../../config/layout/layout.ts';
import type { RhythmPicture } from '../../../../config/wire/bursts.ts';
import type { ChannelPicture } from '../../../../config/wire/wire.ts';
import { unseenAtRest } from '../pump/standstill-watch.ts';
import { gaugeLimits } from '../sensors/gauge-limits.ts';

/** What pressure and flow cannot show anywhere. */
const STALL =
  'A head that stalls but still flows: pressure and flow stay the same. Only eyes, or a motion sensor, can tell';
const ALWAYS = [
  'A light head that slipped off its mount but still sprays: the change is below sensor noise.',
  'Where the water lands: arc, wind, overspray and dry strips.',
  'Two similar heads side by side: both are named.',
  'A leak and an opened head at the same point: they look alike in the readings.',
  'The fire, the wind, trees and the road.',
];

export function blindSpots(
  layout: Layout,
  channels: ReadonlyMap<string, ChannelPicture>,
  calibrated: boolean,
  running: boolean,
  rhythms: readonly RhythmPicture[],
  creeping: readonly { readonly label: string; readonly way: 'up' | 'down'; readonly since: string }[],
): string[] {
  const now: string[] = [];
  if (running && !calibrated) {
    now.push('No baseline yet: only large changes show. Small leaks and plugged nozzles cannot be seen.');
  }
  for (const { label, way, since } of creeping) {
    now.push(
      `${label} creeps ${way} since about ${since}, too slowly to name a cause: the gauge itself, the ` +
        `day's warmth, or a trouble that grows.`,
    );
  }
  for (const sensor of layout.sensors) {
    const channel = channels.get(sensor.id);
    if (channel?.freshness === 'stale' || channel?.freshness === 'never')
      now.push(`${sensor.label}: no fresh data; what it would show is unknown.`);
  }
  for (const line of layout.lines) {
    if (!layout.sensors.some((sensor) => sensor.line === line.id))
      now.push(`${line.label} has no sensor of its own: its state is unknown while it runs.`);
  }
  for (const pump of layout.pumps) {
    if (pump.kit.control === 'governor')
      now.push(`${pump.label} is governed: it holds its pressure and hides what the hose lay does to it.`);
  }
  const isHeard = ({ id }: Sensor): boolean => {
    const freshness = channels.get(id)?.freshness;
    return freshness === 'fresh' || freshness === 'late';
  };
  // Before anything was heard it is the gauges that the layout has that count.
  const known = [...channels.values()].some(({ freshness }) => freshness !== 'never');
  now.unshift(...gaugeLimits(layout, known ? isHeard : undefined));
  now.push(...unseenAtRest(layout, known ? isHeard : () => true));
  return [...now, stallsUnheard(layout, rhythms), ...shocksUnfelt(layout), ...ALWAYS];
}

function shocksUnfelt(layout: Layout): string[] {
  const felt = layout.lines
    .filter(({ id }) => layout.sensors.some(({ line, quantity }) => line === id && quantity === 'pulse'))
    .map(({ label }) => label);
  return felt.length === layout.lines.length
    ? []
    : [
        `A pressure shock${felt.length === 0 ? '' : ` on any line but ${felt.join(', ')}`}: it ` +
          'passes between two readings; only a fast sensor catches it.',
      ];
}

function stallsUnheard(layout: Layout, rhythms: readonly RhythmPicture[]): string {
  // A line may use rhythm only where its own baseline showed it.
  const heard = rhythms
    .filter(({ ratesHz }) => ratesHz.length > 0)
    .map(
      ({ line, ratesHz, heads }) =>
        `${layout.lines.find(({ id }) => id === line)!.label} (${ratesHz.length} ` +
        `beat${ratesHz.length > 1 ? 's' : ''} of ${heads} head${heads > 1 ? 's' : ''})`,
    );
  return heard.length === 0
    ? `${STALL}.`
    : `${STALL}, except where the baseline showed the beat of impact heads: ${heard.join(', ')}.`;
}
