/**
 * Why a line has its state, with what its line end adds at this second: a late reading, or one alone outside its band;
 * and what its gates are known by.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { LinePicture, Picture } from '../../config/wire/wire.ts';
import { sideOfReading } from './states.ts';

export const GATES_AS_LOGGED = 'Gates are as logged; nothing measures them.';

export function lineWhy(now: LinePicture | undefined, layout: Layout, picture: Picture | null): string {
  if (!now || !picture) return 'no picture yet';
  if (now.state !== 'as-modelled') return now.why;
  const ends = layout.sensors.filter(({ line, quantity }) => line === now.line && quantity === 'pressure');
  const heard = ends
    .map(({ id }) => picture.channels.find(({ channel }) => channel === id))
    .find((channel) => channel && channel.freshness !== 'never');
  if (heard?.freshness === 'late') return `${now.why}; its line end is late`;
  const side = heard ? sideOfReading(heard) : null;
  return side === 'below' || side === 'above' ? `${now.why}; its last reading alone is ${side} its band` : now.why;
}
