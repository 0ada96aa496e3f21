/** What the tables of the printed report say, from figures put in by hand: unknown is never a number. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { RunReader } from '../../gateway/journal/run-reader.ts';
import type { Copy } from '../../gateway/review/anonymised.ts';
import { reportPage } from '../../gateway/review/report-page.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';
import { smallRecord } from '../support/small-record.ts';
import { blankCopy, blankSpan, minute } from './blank-copy.ts';

const layout = new LayoutBuilder().tank('tank').pump('pump', 'tank', 'p0').build();
let folder = '';
let record: RunReader;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-report-'));
  record = smallRecord(folder, layout, minute(0), () => undefined);
});
afterAll(() => {
  record.close();
  rmSync(folder, { recursive: true, force: true });
});

const page = (copy: Copy): string => reportPage(copy, layout, record, minute(900)).html;

/** The rows under a heading, cell by cell. */
function rows(html: string, heading: string): string[][] {
  const [, table] = new RegExp(`<h2>${heading}</h2><table>(.*?)</table>`).exec(html)!;
  return table!
    .split('</tr>')
    .slice(1, -1)
    .map((row) => [...row.matchAll(/<td>(.*?)<\/td>/g)].map(([, cell]) => cell!));
}

describe('the printed report', () => {
  it('says at its head which time it is about, and how many stretches have no record', () => {
    const hole = { fromMs: minute(10), toMs: minute(20) };
    expect(page(blankCopy({}))).toContain('2026-07-14 06:00Z to 2026-07-14 20:30Z');
    expect(page(blankCopy({}))).not.toContain('without a record');
    expect(page(blankCopy({ figures: { holes: [hole] } }))).toContain('<b>1 stretch without a record</b>');
    expect(page(blankCopy({ figures: { holes: [hole, hole] } }))).toContain('<b>2 stretches without a record</b>');
  });

  it('says when something was flagged and for how long, or that it was not over', () => {
    const alarms = [
      blankSpan({ raisedMs: minute(30), clearedMs: minute(31), headline: 'leak on line A' }),
      blankSpan({ raisedMs: minute(40), clearedMs: minute(100), headline: 'head off on line A' }),
      blankSpan({ raisedMs: minute(65), clearedMs: null, headline: 'tank low' }),
    ];
    expect(rows(page(blankCopy({ timeline: { alarms } })), 'What was flagged')).toEqual([
      ['06:30Z', '60 s', 'leak on line A'],
      ['06:40Z', '60 min', 'head off on line A'],
      ['07:05Z', 'not over', 'tank low'],
    ]);
    expect(page(blankCopy({}))).toContain('Nothing was flagged.');
  });

  it('holds the alarms against what people can bear, in shares of all', () => {
    const { load } = blankCopy({}).review.figures;
    const priorities = load.priorities.map((row) => ({
      ...row,
      count: { people: 0, high: 1, medium: 1, low: 6 }[row.priority],
      share: { people: 0, high: 0.125, medium: 0.125, low: 0.75 }[row.priority],
    }));
    const figures = {
      load: { ...load, perHour: 2.34, worstHour: 3, priorities, worstAcknowledgeS: 130, neverAcknowledged: 7 },
    };
    expect(rows(page(blankCopy({ figures })), 'Alarm load against target')).toEqual([
      ['an hour', '2.3', 'about 6'],
      ['most in an hour', '3', '12'],
      ['people', '0 (0 %)', ''],
      ['high', '1 (13 %)', '5 %'],
      ['medium', '1 (13 %)', '15 %'],
      ['low', '6 (75 %)', '80 %'],
      ['chattering', '0', 'none'],
      ['acknowledged after, median / longest', 'not known / 2 min', ''],
      ['never acknowledged', '7', 'none'],
    ]);
  });

  it('gives up, short, down and unknown of lines, and of the five heads up least; never ran is no share', () => {
    const blank = { upS: 0, shortS: 0, downS: 0, unknownS: 0, fillingS: 0, shutS: 0, upShare: null };
    const upTimes = [
      {
        ...blank,
        kind: 'line' as const,
        id: 'line A',
        upS: 5_400,
        shortS: 90,
        downS: 600,
        unknownS: 1_110,
        upShare: 0.75,
      },
      { ...blank, kind: 'line' as const, id: 'line B' },
      ...[0.9, 0.4, 0.8, 0.5, 0.7, 0.6].map((upShare, index) => ({
        ...blank,
        kind: 'head' as const,
        id: `head ${index}`,
        upShare,
      })),
      { ...blank, kind: 'head' as const, id: 'head that never ran' },
    ];
    const told = rows(page(blankCopy({ figures: { upTimes } })), 'Availability');
    expect(told.slice(0, 2)).toEqual([
      ['line A', '75.0 %', '90 s', '10 min', '19 min'],
      ['line B', 'never ran', '0 s', '0 s', '0 s'],
    ]);
    expect(told.slice(2).map(([head, up]) => `${head} ${up}`)).toEqual([
      'head 1 40.0 %',
      'head 3 50.0 %',
      'head 5 60.0 %',
      'head 4 70.0 %',
      'head 2 80.0 %',
    ]);
  });

  it('says not known where nothing is known of pump and tank', () => {
    const pump = { pump: 'pump', runS: 9_000, fillingS: 0, shutInS: 30, unknownS: 0, starts: 2, refuelled: 0 };
    const tank = { source: 'tank', leastM3: null, leastMs: null, firstM3: null, lastM3: null };
    const figures = { pumps: [{ ...pump, fuelUsedM3: null }], tanks: [tank] };
    expect(rows(page(blankCopy({ figures })), 'Pump and tank')).toEqual([
      ['pump', 'ran 2.5 h, started 2 times, deadheaded 30 s, unknown 0 s, fuel not known'],
      ['tank', 'least not known, at the end not known'],
    ]);
  });

  it('says when water came first and how long before the front; none and not entered where it is so', () => {
    const structures = [
      { structure: 'house', firstWaterMs: minute(5), receivedM3: 1, dryS: 60, shortS: 0, unknownS: 0, leadS: 7_200 },
      {
        structure: 'barn',
        firstWaterMs: null,
        receivedM3: null,
        dryS: null,
        shortS: null,
        unknownS: null,
        leadS: null,
      },
    ];
    const zones = [
      { structure: 'house', zone: 'roof' as const, areaM2: 100, volumeM3: 0.25, depthM: 0.0025, unknownS: 0 },
    ];
    const told = rows(page(blankCopy({ figures: { structures, zones } })), 'Water');
    expect(told.map((row) => row.slice(0, 5))).toEqual([
      ['house', '06:05Z', '60 s', '0 s', '2.0 h'],
      ['barn', 'none', 'not known', 'not known', 'no front entered'],
    ]);
    expect(told.flat().filter((cell) => cell.endsWith(' mm'))).toEqual([expect.stringMatching(/, 2\.5 mm$/)]);
  });
});
