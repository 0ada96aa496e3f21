/**
 * The limits that live view, What if and Pre-flight share: where a head stands, with its dead band, and when water is
 * low. The edges are those of the kit's own rows; the dead band is a judgement (three per cent).
 */
import { describe, expect, it } from 'vitest';
import type { HeadPicture } from '../../config/wire/wire.ts';
import { isWaterLow, spreads, standingOf } from '../../gateway/core/hydraulics/limits.ts';
import { preflight } from '../../gateway/core/hydraulics/preflight.ts';
import { NO_CHANGE, WhatIf } from '../../gateway/core/hydraulics/what-if.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const head = layout.heads[0]!;
const { turnPaMin, turnPaMax, survivesPa } = head.kit;

describe('where a head stands', () => {
  it('is told by what turns it and what it survives', () => {
    expect(standingOf(head, 0)).toBe('no-water');
    expect(standingOf(head, NaN)).toBe('no-water');
    expect(standingOf(head, 0.999 * turnPaMin)).toBe('too-weak');
    expect(standingOf(head, turnPaMin)).toBe('turns');
    expect(standingOf(head, turnPaMax)).toBe('turns');
    expect(standingOf(head, 1.001 * turnPaMax)).toBe('too-strong');
    expect(standingOf(head, 1.001 * survivesPa)).toBe('breaks');
  });

  it('stays outside until it is three per cent inside again, on either side', () => {
    expect(standingOf(head, 1.02 * turnPaMin, 'too-weak')).toBe('too-weak');
    expect(standingOf(head, 1.02 * turnPaMin, 'no-water')).toBe('too-weak');
    expect(standingOf(head, 1.031 * turnPaMin, 'too-weak')).toBe('turns');
    expect(standingOf(head, 1.02 * turnPaMin, 'turns')).toBe('turns');
    expect(standingOf(head, 0.98 * turnPaMax, 'too-strong')).toBe('too-strong');
    expect(standingOf(head, 0.969 * turnPaMax, 'too-strong')).toBe('turns');
    expect(standingOf(head, 0.98 * survivesPa, 'breaks')).toBe('breaks');
    expect(standingOf(head, 0.969 * survivesPa, 'breaks')).toBe('too-strong');
  });

  it('is the same in What if and in Pre-flight', () => {
    const found = preflight(layout).heads.map(({ head: id, standing }) => [id, standing]);
    expect(new WhatIf(layout).answer(NO_CHANGE).heads.map(({ id, standing }) => [id, standing])).toEqual(found);
  });
});

it('counts as wetting what heads with turning pressure give, and nothing of heads that are low or in doubt', () => {
  const wets: Record<HeadPicture['state'], boolean> = {
    dry: false,
    flowing: true,
    short: false,
    'off?': false,
    'plugged?': false,
    'above-range': true,
    'over-pressure': true,
    unknown: false,
  };
  for (const [state, expected] of Object.entries(wets))
    expect(spreads(state as HeadPicture['state']), state).toBe(expected);
});

it('water is low under twenty minutes, and until twenty-five are left again', () => {
  expect([1_199, 1_200].map((leftS) => isWaterLow(leftS, 300, false))).toEqual([true, false]);
  expect([1_499, 1_500].map((leftS) => isWaterLow(leftS, 300, true))).toEqual([true, false]);
});
