/**
 * What is left of a picture when no newer one came: nothing in it may be drawn as the state of things now.
 *
 * In: the last picture. Out: the same with every state unknown, every reading stale, no expectation and no forecast.
 * Alarms stay as they were last heard. The last values stay for reading, marked stale.
 */
import type { Picture } from '../../config/wire.ts';

const WHY = 'nothing new has come from the gateway';

export function doubtful(picture: Picture): Picture {
  return {
    ...picture,
    channels: picture.channels.map((channel) => ({
      ...channel,
      freshness: channel.freshness === 'never' ? 'never' : 'stale',
      expected: null,
      low: null,
      high: null,
    })),
    pumps: picture.pumps.map((pump) => ({ ...pump, state: 'unknown', fuelLeftS: null })),
    supplies: picture.supplies.map((supply) => ({
      ...supply,
      volumeM3: null,
      usableM3: null,
      trendM3s: null,
      filling: false,
      emptyInS: null,
      firstShort: null,
    })),
    outside: [],
    lines: picture.lines.map(({ line }) => ({ line, state: 'unknown', why: WHY })),
    structures: picture.structures.map(({ structure, tally }) => ({
      structure,
      tally,
      state: 'unknown',
      why: WHY,
      flowM3s: null,
    })),
    gates: [],
    heads: picture.heads.map((head) => ({ ...head, state: 'unknown', pressurePa: null, flowM3s: null })),
  };
}
