/**
 * What cannot be seen is said, word for word where it holds everywhere, and by what this site has and hears now. Each
 * sentence keeps people from trusting a screen further than it sees.
 */
import { describe, expect, it } from 'vitest';
import type { ChannelPicture } from '../../config/wire/wire.ts';
import { blindSpots } from '../../gateway/core/diagnosis/states/blind-spots.ts';
import { blankChannel } from '../support/blank-picture.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

/** All channels as heard, but for these. */
function told(changes: Readonly<Record<string, ChannelPicture['freshness']>> = {}, calibrated = true): string[] {
  const channels = layout.sensors.map(
    ({ id }) => [id, blankChannel(id, { freshness: changes[id] ?? 'fresh' })] as const,
  );
  return blindSpots(layout, new Map(channels), calibrated, true, [], []);
}

describe('what cannot be seen', () => {
  it('anywhere, is said everywhere', () => {
    expect(told()).toEqual(
      expect.arrayContaining([
        'A head that stalls but still flows: pressure and flow stay the same. Only eyes, or a motion sensor, can tell.',
        'A light head that slipped off its mount but still sprays: the change is below sensor noise.',
        'Where the water lands: arc, wind, overspray and dry strips.',
        'Two similar heads side by side: both are named.',
        'A leak and an opened head at the same point: they look alike in the readings.',
        'The fire, the wind, trees and the road.',
      ]),
    );
  });

  it('before a baseline, is said until there is one', () => {
    const words = 'No baseline yet: only large changes show. Small leaks and plugged nozzles cannot be seen.';
    expect(told({}, false)).toContain(words);
    expect(told({}, true)).not.toContain(words);
  });

  it('while a gauge is silent, is said of that gauge, and of what it alone would show', () => {
    const atRest = (words: readonly string[]): string[] => words.filter((one) => one.includes('cannot be seen: '));
    const silent = told({ discharge: 'stale' });
    const label = layout.sensors.find(({ id }) => id === 'discharge')!.label;
    expect(silent).toContain(`${label}: no fresh data; what it would show is unknown.`);
    expect(atRest(silent)).not.toEqual(atRest(told()));
  });

  it('is said by the gauges that the layout has as long as none of them was ever heard', () => {
    const never = Object.fromEntries(layout.sensors.map(({ id }) => [id, 'never' as const]));
    const plain = (words: readonly string[]): string[] => words.filter((one) => !one.includes('no fresh data'));
    expect(plain(told(never))).toEqual(plain(told()));
  });
});
