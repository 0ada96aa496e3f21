/** The banner over every screen: which alarms it names, and that what it does not name is counted. */
import { describe, expect, it } from 'vitest';
import type { Alarm, AsideAlarm } from '../../config/wire/wire.ts';
import { bannerOf } from '../../ui/words/banner.ts';
import { blankAlarm, blankPicture } from '../support/blank-picture.ts';

const clock = (atMs: number): string => `minute ${atMs}`;
const alarm = (id: string, changes: Partial<Alarm> = {}): Alarm =>
  blankAlarm(id, { priority: 'medium', verdict: { ...blankAlarm(id).verdict, headline: id, sinceMs: 1 }, ...changes });
const taken = { state: 'acknowledged', acknowledgedBy: 'QR' } as const;

function told(alarms: readonly Alarm[], setAside: readonly AsideAlarm[] = []): { named: string[]; more: string } {
  const { rows, more } = bannerOf(blankPicture(9, { alarms, setAside }), clock);
  return { named: rows.map(({ headline }) => headline), more };
}

describe('the banner', () => {
  it('names the one that stands and says no more of it', () => {
    expect(told([])).toEqual({ named: [], more: '' });
    expect(told([alarm('leak')])).toEqual({ named: ['leak'], more: '' });
  });

  it('counts what stands beside it, from the first on, and how many of those nobody has acknowledged', () => {
    const worst = alarm('head off', { priority: 'high' });
    expect(told([alarm('leak'), worst])).toEqual({
      named: ['head off'],
      more: '+1 more standing, 1 not acknowledged',
    });
    expect(told([alarm('leak', taken), alarm('plug'), worst]).more).toBe('+2 more standing, 1 not acknowledged');
    expect(told([alarm('leak', taken), worst]).more).toBe('+1 more standing');
  });

  it('names beside one that somebody has acknowledged the worst that nobody has', () => {
    const worst = alarm('head off', { priority: 'high', ...taken });
    expect(told([worst, alarm('leak'), alarm('fuel low', { priority: 'low' })])).toEqual({
      named: ['head off', 'leak'],
      more: '+1 more standing, 1 not acknowledged',
    });
  });

  it('counts what is set aside and what has cleared apart, in one sentence', () => {
    const cleared = alarm('plug', { clearedMs: 5, state: 'returned-unacknowledged' });
    const aside: AsideAlarm = {
      ...alarm('kink', { priority: 'low' }),
      state: 'shelved',
      aside: { by: 'QR', untilMs: 30, why: 'known' },
    } as AsideAlarm;
    const all = [alarm('leak'), alarm('head off', { priority: 'high' }), cleared];
    expect(told(all, [aside]).more).toBe(
      '+1 more standing, 1 not acknowledged; 1 set aside; 1 cleared, not acknowledged',
    );
    expect(told([cleared])).toEqual({ named: [], more: '1 cleared, not acknowledged' });
  });

  it('names what somebody has set aside where it is worse than all that stands, and says who', () => {
    const aside = (priority: Alarm['priority']): AsideAlarm => ({
      ...alarm('head off', { priority }),
      state: 'shelved',
      aside: { by: 'QR', untilMs: 30, why: 'known' },
    });
    const { rows } = bannerOf(blankPicture(9, { alarms: [alarm('leak')], setAside: [aside('high')] }), clock);
    expect(rows.map(({ headline, told: words }) => `${headline}: ${words}`)).toEqual([
      'head off: shelved by QR until minute 30, standing since minute 1',
      'leak: not acknowledged, standing since minute 1',
    ]);
    for (const priority of ['medium', 'low'] as const)
      expect(told([alarm('leak')], [aside(priority)])).toEqual({ named: ['leak'], more: '1 set aside' });
  });

  it('keeps a hazard to people until somebody has acknowledged that it is over, with its warning', () => {
    const over = alarm('deadheaded', { priority: 'people', clearedMs: 5, state: 'returned-unacknowledged' });
    const { rows, more } = bannerOf(blankPicture(9, { alarms: [over, alarm('leak')] }), clock);
    expect(rows.map(({ headline, told: words }) => `${headline}: ${words}`)).toEqual([
      'deadheaded: cleared at minute 5, not acknowledged',
      'leak: not acknowledged, standing since minute 1',
    ]);
    expect([rows[0]!.warning, more]).toEqual([expect.stringMatching(/stay away|keep away|scald/i), '']);
  });
});
