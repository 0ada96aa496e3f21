/** What is said where gauges are too few or too slow: in the blind spots, and by the check before anything runs. */
import { describe, expect, it } from 'vitest';
import { blindSpots } from '../../gateway/core/diagnosis/states/blind-spots.ts';
import { gaugeLimits } from '../../gateway/core/diagnosis/sensors/gauge-limits.ts';
import { preflightSheet } from '../../gateway/launch/preflight-sheet.ts';
import { withGauges } from '../score/gauge-set.ts';
import { blankChannel } from '../support/blank-picture.ts';
import { siteLayout } from '../support/drive.ts';

const larch = siteLayout('larch-cove');
const quarry = siteLayout('quarry-road');
const said = (gauges: string, layout = larch): string => gaugeLimits(withGauges(layout, gauges)).join(' ');

describe('with every gauge once a second', () => {
  it('nothing is said, and the check says which gauges there are', () => {
    expect(gaugeLimits(larch)).toEqual([]);
    expect(preflightSheet(larch).join(' ')).toContain('Flow, speed and discharge pressure at every pump');
  });
});

describe('a dead-head that cannot be seen is said first, in capitals', () => {
  it.each([
    ['without=discharge,speed', larch],
    ['without=discharge,flow,ends', larch],
    // It runs near its shut-off pressure anyway.
    ['without=flow,ends', quarry],
  ] as const)('%s', (gauges, layout) => {
    const [first] = gaugeLimits(withGauges(layout, gauges));
    expect(first).toMatch(/^A DEAD-HEAD OF .* CANNOT BE SEEN: .*Only somebody who hears the engine can tell/);
    expect(preflightSheet(withGauges(layout, gauges)).join(' ').replaceAll(/\s+/g, ' ')).toContain(first);
  });

  it('and is not said where it is seen', () => {
    for (const gauges of ['without=flow', 'without=speed', 'without=flow,speed', 'without=ends', 'without=flow,ends'])
      expect(said(gauges), gauges).not.toContain('CANNOT BE SEEN');
  });
});

describe('what is lost with each gauge', () => {
  it('flow, speed, discharge pressure, line ends', () => {
    expect(said('without=flow')).toContain('flow is missing, so leaks and plugs show in line-end pressures only');
    expect(said('without=speed')).toContain('a stop and lost prime look alike');
    expect(said('without=discharge')).toContain('cannot be told from lost prime');
    expect(said('without=discharge')).toContain('no trouble in it is named');
    expect(said('without=flow,ends')).toContain('told from its pressure alone');
  });

  it('is said too while a gauge that the layout has is silent', () => {
    const channels = new Map(
      larch.sensors.map(({ id }) => [id, blankChannel(id, { freshness: id === 'flow' ? 'stale' : 'fresh' })]),
    );
    const words = blindSpots(larch, channels, true, true, [], []).join(' ');
    expect(words).toContain('flow is not heard, so leaks and plugs show in line-end pressures only');
    expect(words).not.toContain('is missing');
  });
});

describe('what a slow box costs, by the windows of the code', () => {
  it('is said in seconds: a reading and the next for a dead-head, three for a trouble, three for a baseline', () => {
    expect(said('box=10')).toContain('told up to 20 s after it begins, a trouble in the lay up to 30 s after');
    expect(said('box=10')).toContain('a baseline takes 30 s of steady running');
    expect(said('box=30')).toContain('told up to 60 s after it begins, a trouble in the lay up to 90 s after');
    expect(said('box=60')).toContain('told up to 105 s after it begins');
    expect(said('all=30')).toContain('Line ends are read every 30 s at the slowest');
  });
});
