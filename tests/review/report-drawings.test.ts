/**
 * The drawings of the printed report: everything stands where its time says. A run of 870 minutes on an axis of 870
 * units, so that a minute is a unit; the axis begins at 130, right of the names.
 */
import { describe, expect, it } from 'vitest';
import type { Timeline } from '../../config/wire/review.ts';
import type { Series } from '../../config/wire/live.ts';
import type { LineState } from '../../config/wire/wire.ts';
import { pressurePlot, timelinePlot } from '../../gateway/review/report-plots.ts';
import { blankCopy, blankSpan, minute, RUN_MINUTES } from './blank-copy.ts';

const x = (minutes: number): number => 130 + minutes;

/** Every element of this name, by its attributes. */
function drawn(svg: string, name: string): Record<string, string>[] {
  const shown = svg.replace(/<defs>[\s\S]*<\/defs>/, '');
  return [...shown.matchAll(new RegExp(`<${name} ([^>]*?)/?>`, 'g'))].map(([, cells]) =>
    Object.fromEntries([...cells!.matchAll(/([\w-]+)="([^"]*)"/g)].map(([, key, value]) => [key!, value!])),
  );
}

function texts(svg: string): { words: string; x: number; y: number }[] {
  return [...svg.matchAll(/<text x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]*)</g)].map(([, left, top, words]) => ({
    words: words!,
    x: Number(left),
    y: Number(top),
  }));
}

const heightOf = (svg: string): number => Number(/viewBox="0 0 1000 ([\d.]+)"/.exec(svg)![1]);

it('both drawings say what they are to whoever cannot see them', () => {
  const named = (svg: string): string | undefined => /role="img" aria-label="([^"]*)"/.exec(svg)?.[1];
  expect(named(timelinePlot(blankCopy({})))).toBe('States of the lines, alarms, deeds and finds over time');
  expect(named(pressurePlot(blankCopy({}), [], 'metric'))).toBe('Pressures measured and expected over time');
  // XML wants room between attributes.
  for (const svg of [timelinePlot(blankCopy({})), pressurePlot(blankCopy({}), [], 'metric')])
    expect(svg).not.toMatch(/="[^"]*"[\w-]+=/);
});

it('the strokes of a pattern reach from edge to edge of its tile, so that a bar shows no seams', () => {
  const tiles = [
    ...timelinePlot(blankCopy({})).matchAll(
      /<pattern [^>]*width="(\d+\.?\d*)"[^>]*>(?:<rect [^>]*\/>)?<path d="([^"]*)"/g,
    ),
  ];
  expect(tiles.length).toBe(4);
  for (const [, width, d] of tiles) expect(Math.max(...d!.match(/\d+/g)!.map(Number)), d).toBe(Number(width));
});

describe('the time line', () => {
  const line = (
    name: string,
    ...spans: readonly (readonly [number, number, LineState])[]
  ): Timeline['lines'][number] => ({
    line: name,
    spans: spans.map(([from, to, state]) => ({ fromMs: minute(from), toMs: minute(to), state })),
  });

  it('has a bar for every state of a line, from its beginning to its end', () => {
    const lines = [
      line('A', [0, 60, 'filling'], [60, 400, 'as-modelled'], [400, 870, 'down']),
      line('B', [100, 870, 'unknown']),
    ];
    const bars = drawn(timelinePlot(blankCopy({ timeline: { lines } })), 'rect');
    expect(bars.map((bar) => [bar['x'], bar['width'], bar['y'], bar['fill']].join(' '))).toEqual([
      `${x(0)} 60.0 2 url(#filling)`,
      `${x(60)} 340.0 2 #b9b9b9`,
      `${x(400)} 470.0 2 #111111`,
      `${x(100)} 770.0 18 url(#unknown)`,
    ]);
  });

  it('has the hours under it: of fourteen and a half hours every second one', () => {
    const marks = texts(timelinePlot(blankCopy({}))).filter(({ words }) => words.endsWith('Z'));
    expect(marks.map(({ words, x: left }) => [words, left])).toEqual([
      ['06:00Z', x(0)],
      ['08:00Z', x(120)],
      ['10:00Z', x(240)],
      ['12:00Z', x(360)],
      ['14:00Z', x(480)],
      ['16:00Z', x(600)],
      ['18:00Z', x(720)],
      ['20:00Z', x(840)],
    ]);
  });

  it('draws an alarm until it was over, and one that was not over to the end', () => {
    const alarms = [
      blankSpan({ raisedMs: minute(30), clearedMs: minute(90) }),
      blankSpan({ raisedMs: minute(500), clearedMs: null }),
    ];
    const paths = drawn(timelinePlot(blankCopy({ timeline: { alarms } })), 'path').map(({ d }) => d!);
    expect(paths.filter((d) => /^M\S+ \d+H/.test(d)).map((d) => d.replace(/ \d+H/, ' to '))).toEqual([
      `M${x(30)} to ${x(90)}`,
      `M${x(500)} to ${x(RUN_MINUTES)}`,
    ]);
  });

  it('has rows from top to bottom that do not cross: lines, alarms, deeds, finds; hours inside the picture', () => {
    const svg = timelinePlot(
      blankCopy({
        timeline: {
          lines: [line('A', [0, 870, 'as-modelled'])],
          alarms: [0, 1, 2, 3].map((at) => blankSpan({ raisedMs: minute(at) })),
          deeds: [{ atMs: minute(10), words: 'x', by: 'QR', refused: false }],
        },
      }),
    );
    const rows = texts(svg);
    const top = (words: string): number => rows.find((row) => row.words === words)!.y;
    const [bar] = drawn(svg, 'rect');
    const lowestAlarm = Math.max(...drawn(svg, 'circle').map(({ cy }) => Number(cy)));
    const [, deedTop] = /M140 (\d+)v10/.exec(svg)!;
    expect(Number(bar!['y']) + Number(bar!['height'])).toBeLessThan(top('alarms'));
    expect(lowestAlarm).toBeLessThan(Number(deedTop));
    expect(Number(deedTop) + 10).toBeLessThanOrEqual(top('found on site'));
    expect(top('found on site')).toBeLessThan(top('06:00Z'));
    // Letters of 10 units: a third of that may hang under their foot.
    expect(top('06:00Z') + 3).toBeLessThan(heightOf(svg));
  });

  it('draws what people did three times as wide as what the gateway noted, so that a poor printer shows it', () => {
    const deeds = [null, 'QR'].map((by, index) => ({ atMs: minute(100 + index), words: 'x', by, refused: false }));
    const widths = drawn(timelinePlot(blankCopy({ timeline: { deeds } })), 'path')
      .filter(({ d }) => d!.endsWith('v10'))
      .map((path) => Number(path['stroke-width']));
    expect(widths[1]! / widths[0]!).toBeGreaterThan(3);
  });
});

describe('the pressures', () => {
  const series = (measured: readonly (number | null)[]): Series => ({
    channel: 'discharge',
    atMs: measured.map((_, index) => minute(100 * index)),
    measured,
    expected: measured.map(() => null),
    low: measured.map(() => null),
    high: measured.map(() => null),
  });
  const curve = (measured: readonly (number | null)[]): string =>
    drawn(pressurePlot(blankCopy({}), [{ label: 'pump', series: series(measured) }], 'metric'), 'path').find(
      (path) => path['stroke'] === '#111',
    )!['d']!;

  it('stand over nought at the foot, 44 units below the greatest: half the pressure is half as high', () => {
    expect(curve([8e5, 4e5, 0])).toBe(`M${x(0)} 0.0L${x(100)} 22.0L${x(200)} 44.0`);
  });

  it('keep nought at the foot also where a gauge never fell to it', () => {
    expect(curve([4, 2, 3])).toBe(`M${x(0)} 0.0L${x(100)} 22.0L${x(200)} 11.0`);
  });

  it('show suction below nought under it', () => {
    expect(curve([3e5, 0, -1e5])).toBe(`M${x(0)} 0.0L${x(100)} 33.0L${x(200)} 44.0`);
  });

  it('leave a gap a gap', () => {
    expect(curve([8e5, null, 4e5])).toBe(`M${x(0)} 0.0M${x(200)} 22.0`);
  });

  it('have each plot a row of its own, and the hours inside the picture', () => {
    const plotted = ['pump', 'end A'].map((label) => ({ label, series: series([4e5]) }));
    const svg = pressurePlot(blankCopy({}), plotted, 'metric');
    const feet = drawn(svg, 'path').flatMap(({ d }) => /^M130 (\d+)H1000$/.exec(d!)?.[1] ?? []);
    expect(feet).toEqual(['44', '94']);
    expect(texts(svg).find(({ words }) => words === '06:00Z')!.y + 3).toBeLessThan(heightOf(svg));
  });
});
