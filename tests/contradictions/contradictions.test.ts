/**
 * No two statements of one picture contradict: the rules over random troubles, and each rule against a picture made to
 * break it.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import type { Picture } from '../../config/wire/wire.ts';
import { Drive, siteLayout } from '../support/drive.ts';
import { play, RULES, summary } from './play.ts';
import { saidOf, type Said } from './said.ts';

const SEEDS = [9_701, 9_702, 9_703, 9_704];
const SECONDS = 180;

describe('random troubles', () => {
  it.each(SEEDS)(
    'pairs, repairs, missing gauges, gates, throttle and modes: nothing contradicts (seed %i)',
    (seed) => {
      expect(summary(play(seed, SECONDS))).toBe('');
    },
    120_000,
  );
});

describe('every rule can fail', () => {
  let healthy: Said;

  beforeAll(() => {
    const layout = siteLayout('larch-cove');
    const drive = new Drive(layout, { seed: 9_711 });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.run(30);
    healthy = said(drive.picture);
  });

  const said = (picture: Picture): Said =>
    saidOf(
      siteLayout('larch-cove'),
      picture,
      null,
      picture.gates.map(({ opening }) => opening),
    );

  it('there are many, each said once', () => {
    expect(RULES.length).toBeGreaterThanOrEqual(25);
    expect(new Set(RULES.map(({ never }) => never)).size).toBe(RULES.length);
  });

  it.each(RULES.map((rule) => [rule.never, rule] as const))('never: %s', (_, { broken, breaks }) => {
    expect(broken(healthy)).toEqual([]);
    expect(broken(breaks(healthy))).not.toEqual([]);
  });
});
