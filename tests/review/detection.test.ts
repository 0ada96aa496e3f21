/**
 * What was flagged against what the crew found: lags, misses, false alarms, and what nobody has said anything about.
 */
import { describe, expect, it } from 'vitest';
import type { TruthEntry } from '../../config/wire/truth.ts';
import type { Alarm, Verdict } from '../../config/wire/wire.ts';
import { alarmLoad } from '../../gateway/review/alarm-load.ts';
import { detectionOf, median } from '../../gateway/review/detection.ts';
import { episodesOf, Wordings, type Episode, type Transition } from '../../gateway/review/episodes.ts';
import { blankAlarm, blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';

const { layout } = demoSite();
const START = 1_784_000_000_000;
const END = START + 4 * 3_600_000;
const minute = (count: number): number => START + 60_000 * count;

function truth(what: TruthEntry['what'], at: string | null, from: number, to: number | null, number = 1): TruthEntry {
  return {
    number,
    enteredWallMs: END,
    role: null,
    by: 'QR',
    what,
    at,
    fromMs: minute(from),
    toMs: to === null ? null : minute(to),
    words: '',
    replaces: null,
    photos: [],
  };
}

function episode(
  cause: Verdict['cause'],
  subject: string,
  raised: number,
  gone: number | null,
  changes: Partial<Episode> = {},
): Episode {
  const { verdict } = blankAlarm(`${cause}:${subject}`);
  return {
    alarmId: `${cause}:${subject}`,
    verdict: { ...verdict, cause, subject },
    priority: 'medium',
    raisedMs: minute(raised),
    acknowledgedMs: null,
    acknowledgedBy: null,
    clearedMs: gone === null ? null : minute(gone),
    goneMs: gone === null ? null : minute(gone),
    ...changes,
  };
}

describe('detection', () => {
  it('finds the alarm that was about a fault, its lag, and whether it had the right name and place', () => {
    const named = episode('head-off', 'line-a', 31, 60, { acknowledgedMs: minute(33) });
    const places = { ...named, verdict: { ...named.verdict, places: [{ id: 'a-3', probability: 0.6 }] } };
    const result = detectionOf([places], [truth('head-off', 'a-3', 30, 58)], layout, END);
    expect(result.found[0]).toMatchObject({ lagS: 60, acknowledgedLagS: 120, namedRight: true, placeNamed: true });
    expect(result.classes).toEqual([
      { what: 'head-off', found: 1, flagged: 1, missed: 0, namedRight: 1, medianLagS: 60, worstLagS: 60 },
    ]);
    expect(result.alarms).toEqual([{ cause: 'head-off', alarms: 1, right: 1, otherName: 0, refuted: 0, unsaid: 0 }]);
  });

  it('takes a kin name for a flag, another line for none, and counts what was missed', () => {
    const result = detectionOf(
      [episode('leak', 'line-a', 31, 60), episode('plug', 'line-b', 100, 110)],
      [truth('head-off', 'a-3', 30, 58), truth('plug', 'c-2', 100, 110, 2)],
      layout,
      END,
    );
    expect(result.classes.map(({ what, flagged, missed, namedRight }) => [what, flagged, missed, namedRight])).toEqual([
      ['head-off', 1, 0, 0],
      ['plug', 0, 1, 0],
    ]);
    expect(result.alarms.find(({ cause }) => cause === 'plug')).toMatchObject({ right: 0, unsaid: 1 });
  });

  it('keeps classes apart that pressure and flow cannot show', () => {
    const result = detectionOf(
      [],
      [truth('wrong-arc', 'a-3', 10, null), truth('head-stalled', 'b-1', 10, null, 2)],
      layout,
      END,
    );
    expect(result.classes).toEqual([]);
    expect(result.unseen.map(({ what, missed }) => [what, missed])).toEqual([
      ['wrong-arc', 1],
      ['head-stalled', 1],
    ]);
  });

  it('calls an alarm false only where somebody looked, or where all was walked', () => {
    const alarms = [
      episode('leak', 'line-a', 20, 40),
      episode('leak', 'line-b', 20, 40),
      episode('leak', 'line-c', 200, null),
    ];
    const looked = detectionOf(alarms, [truth('nothing-wrong', 'a-2', 30, null)], layout, END);
    expect(looked.alarms).toEqual([{ cause: 'leak', alarms: 3, right: 0, otherName: 0, refuted: 1, unsaid: 2 }]);
    const walked = detectionOf(alarms, [truth('walked-all', null, 120, null)], layout, END);
    expect(walked.alarms[0]).toMatchObject({ refuted: 2, unsaid: 1 });
    const otherName = detectionOf([episode('plug', 'line-a', 31, 40)], [truth('head-off', 'a-3', 30, 58)], layout, END);
    expect(otherName.alarms[0]).toMatchObject({ otherName: 1, refuted: 0 });
    expect(otherName.classes[0]).toMatchObject({ missed: 1 });
  });
});

describe('the place of a find', () => {
  const two = new LayoutBuilder()
    .tank('tank')
    .pump('pump', 'tank', 'p0')
    .chain(['p0', 'a0'], { line: 'line-a' })
    .chain(['p0', 'b0'], { line: 'line-b' })
    .head('a-1', 'a0', { line: 'line-a', structure: 'house' })
    .head('b-1', 'b0', { line: 'line-b', structure: 'barn' })
    .build();

  it('may be a structure: an alarm on a line that has a head there is about it, one on another line is not', () => {
    const flagged = (at: string): number[] =>
      ['line-a', 'line-b'].map(
        (line) =>
          detectionOf([episode('head-off', line, 31, 40)], [truth('head-off', at, 30, 50)], two, END).classes[0]!
            .flagged,
      );
    expect(flagged('house')).toEqual([1, 0]);
    expect(flagged('barn')).toEqual([0, 1]);
    expect(flagged('nowhere')).toEqual([0, 0]);
  });
});

describe('the median', () => {
  it('is the middle one, or half way between the two in the middle; of nothing it is unknown', () => {
    expect([[], [60], [60, 120], [60, 90, 480], [0, 60, 120, 480]].map(median)).toEqual([null, 60, 90, 90, 90]);
  });
});

describe('the wording of an episode', () => {
  it('is the one that stood on the screen longest, in all, not the last', () => {
    const wordings = new Wordings();
    const show = (second: number, cause: Verdict['cause'], clearedMs: number | null = null): void => {
      const { verdict } = blankAlarm('x');
      const alarm = blankAlarm('x', { verdict: { ...verdict, cause }, raisedMs: START, clearedMs });
      const atMs = START + 1_000 * second;
      wordings.hold(blankPicture(atMs, { alarms: [alarm] }), atMs + 1_000);
    };
    for (let second = 0; second < 30; second += 1) show(second, second < 10 ? 'leak' : 'head-off');
    for (let second = 30; second < 35; second += 1) show(second, 'leak');
    // A trouble that is over says nothing more.
    for (let second = 35; second < 90; second += 1) show(second, 'plug', START + 35_000);
    const last = { ...episode('plug', 'line-a', 0, 2), alarmId: 'x', raisedMs: START };
    expect(wordings.under([last]).map(({ verdict }) => verdict.cause)).toEqual(['head-off']);
    expect(wordings.under([{ ...last, raisedMs: START + 1 }]).map(({ verdict }) => verdict.cause)).toEqual(['plug']);
  });
});

describe('episodes', () => {
  function told(became: Transition['became'], at: number, changes: Partial<Alarm> = {}): Transition {
    return { atMs: minute(at), alarmId: 'x', became, alarm: blankAlarm('x', { raisedMs: minute(1), ...changes }) };
  }

  it('run from raising to going, and begin again when the trouble does', () => {
    const episodes = episodesOf([
      told('unacknowledged', 1, { priority: 'low' }),
      told('unacknowledged', 2, { priority: 'high' }),
      told('acknowledged', 3, { acknowledgedBy: 'QR' }),
      told('gone', 9),
      told('unacknowledged', 20, { raisedMs: minute(20) }),
      told('returned-unacknowledged', 25, { clearedMs: minute(24) }),
      told('gone', 30),
      told('unacknowledged', 40, { raisedMs: minute(40) }),
      told('returned-unacknowledged', 44, { clearedMs: minute(44) }),
      told('unacknowledged', 50, { raisedMs: minute(50) }),
    ]);
    const times = episodes.map((one) =>
      [one.raisedMs, one.acknowledgedMs, one.clearedMs, one.goneMs].map((ms) => ms && (ms - START) / 60_000),
    );
    expect(times).toEqual([
      [1, 3, 9, 9],
      [20, 30, 24, 30],
      [40, null, 44, null],
      [50, null, null, null],
    ]);
    expect(episodes.map(({ priority, acknowledgedBy }) => [priority, acknowledgedBy])[0]).toEqual(['high', 'QR']);
  });

  it('have no share of nothing, and all of one', () => {
    const shares = (list: readonly Episode[]): number[] =>
      alarmLoad(list, START, END).priorities.map(({ share }) => share);
    expect(shares([])).toEqual([0, 0, 0, 0]);
    expect(shares([episode('leak', 'line-a', 1, 2)])).toEqual([0, 0, 1, 0]);
  });

  it('add up to a load: rates, worst windows, priorities against their targets, lags', () => {
    const list = [1, 2, 3, 90, 150].map((at, index) =>
      episode('leak', 'line-a', at, at + 1, {
        priority: index < 4 ? 'low' : 'people',
        acknowledgedMs: index === 0 ? minute(at + 2) : null,
      }),
    );
    const quick = [0, 20, 40].map((second) =>
      episode('plug', 'line-b', 200, 201, { raisedMs: minute(200) + second * 1_000 }),
    );
    const load = alarmLoad([...list, ...quick], START, END);
    expect(load).toMatchObject({
      alarms: 8,
      hours: 4,
      perHour: 2,
      worstHour: 4,
      worstTenMinutes: 3,
      chattering: 1,
      stale: 0,
      medianAcknowledgeS: 120,
      worstAcknowledgeS: 120,
      neverAcknowledged: 7,
    });
    expect(load.priorities.find(({ priority }) => priority === 'low')).toMatchObject({
      count: 4,
      share: 0.5,
      target: 0.8,
    });
  });
});
