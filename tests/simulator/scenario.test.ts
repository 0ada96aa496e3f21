/** Scenario files: those that come along can be played on the demo site, and mistakes are told with their line. */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { parseScenario } from '../../simulator/scenario.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { scenarioNamed, siteLayout, START_MS } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

function faults(text: string): readonly string[] {
  const parsed = parseScenario(text, 'mine.yaml');
  return parsed.ok ? [] : parsed.faults;
}

describe('a scenario with a mistake', () => {
  it.each([
    { words: 'an unknown beginning', text: 'begins: wet\ntimeline: []\n', line: 1, right: /'dry' or 'running'/ },
    {
      words: 'a time without a unit',
      text: 'begins: dry\ntimeline:\n  - { after: 90, do: start, what: leak, at: a-hose-1 }\n',
      line: 3,
      right: /no unit/,
    },
    {
      words: 'an unknown deed',
      text:
        'begins: dry\ntimeline:\n  - { after: 1 s, do: start, what: leak, at: a-hose-1 }\n  - { after: 2 ' +
        's, do: begin, what: leak }\n',
      line: 4,
      right: /'start' or 'repair'/,
    },
    {
      words: 'a size in words',
      text: 'begins: dry\ntimeline:\n  - after: 1 s\n    do: start\n    what: plug\n    at: a-1\n    size: big\n',
      line: 7,
      right: /a number/,
    },
    { words: 'a throttle beyond the engine', text: 'begins: running\nthrottle: 97\n', line: 2, right: /0 to 1.2/ },
    { words: 'no list', text: 'begins: running\ntimeline: soon\n', line: 2, right: /a list/ },
    { words: 'broken YAML', text: 'begins: running\ntimeline: [\n', line: 3, right: /./ },
    { words: 'nothing in it', text: '', line: 1, right: /begins/ },
  ])('is told its line: $words', ({ text, line, right }) => {
    const told = faults(text);
    expect(told.length).toBeGreaterThan(0);
    expect(told[0]).toMatch(new RegExp(`^mine\\.yaml, line ${line}:`));
    expect(told.join(' ')).toMatch(right);
  });

  it('is told all of them at once', () => {
    expect(
      faults('begins: wet\nthrottle: 9\ntimeline:\n  - { after: soon, do: stop }\n').length,
    ).toBeGreaterThanOrEqual(4);
  });

  it.each([
    ['what: head-off, at: z-9', /^mine\.yaml, line 4: timeline\.1\.at, at 5 s: .*no head 'z-9'/],
    ['what: winds', /^mine\.yaml, line 4: timeline\.1\.what, at 5 s: .*Did you mean wind\?/],
    ['what: wind, size: 80', /^mine\.yaml, line 4: timeline\.1\.size, at 5 s: .*40 is the most.*m\/s/],
  ])('is refused with line and field when the site has not what it names: %s', (rest, right) => {
    const parsed = parseScenario(
      `begins: running\ntimeline:\n  - { after: 9 s, do: start, what: refuel }\n  - { after: 5 s, do: ` +
        `start, ${rest} }\n`,
      'mine.yaml',
    );
    if (!parsed.ok) throw new Error(parsed.faults.join());
    expect(() => new Simulation(layout, { seed: 1, startMs: START_MS, scenario: parsed.scenario })).toThrow(right);
  });
});

describe('the scenarios that come along', () => {
  const names = readdirSync('simulator/scenarios').map((file) => file.replace(/\.yaml$/, ''));

  it('are all there and can be played on the demo site', () => {
    expect(names).toEqual(expect.arrayContaining(['evening', 'running', 'healthy-ten-minutes']));
    for (const name of names)
      expect(
        new Simulation(layout, { seed: 1, startMs: START_MS, scenario: scenarioNamed(name) }).second().length,
      ).toBeGreaterThan(5);
  });

  it('hold no file that cannot be read', () => {
    for (const name of names) expect(faults(readFileSync(`simulator/scenarios/${name}.yaml`, 'utf8'))).toEqual([]);
  });

  it('say in their truth what was done, and nothing of normal life', () => {
    const broken = (name: string, seconds: number): string[] => {
      const simulation = new Simulation(layout, { seed: 2, startMs: START_MS, scenario: scenarioNamed(name) });
      for (let second = 0; second < seconds; second += 1) simulation.second();
      return simulation.truth.map(({ what, at }) => `${what} ${at}`);
    };
    expect(broken('front-passes', 1_000)).toEqual([
      'sensor-silent end-e-pressure',
      'hose-burned f-hose-2',
      'strainer-clogging pump',
    ]);
    expect(broken('rough-start', 60)).toEqual(['head-off c-4', 'head-slipped d-2']);
    expect(broken('normal-hour', 1_500)).toEqual([]);
    expect(broken('windy-night', 1_500)).toEqual([]);
    expect(broken('refill-late', 700)).toEqual(['refill-late tank']);
  });

  it('fill the evening lay from dry and run it up', () => {
    const simulation = new Simulation(layout, { seed: 1, startMs: START_MS, scenario: scenarioNamed('evening') });
    const flow = (): number => simulation.plant.pumpFlowM3s[0]! * 60_000;
    for (let second = 0; second < 75; second += 1) simulation.second();
    expect(simulation.plant.filled[0]).toBe(1);
    for (let second = 0; second < 120; second += 1) simulation.second();
    expect(Math.min(...simulation.plant.filled)).toBe(1);
    expect(flow()).toBeGreaterThan(400);
  });

  it('keep the evening tank off the strainer for an hour and a half', () => {
    const simulation = new Simulation(layout, { seed: 1, startMs: START_MS, scenario: scenarioNamed('evening') });
    let lowest = Infinity;
    for (let second = 0; second < 5_400; second += 1) {
      simulation.second();
      lowest = Math.min(lowest, simulation.plant.levelM(0));
    }
    expect(lowest).toBeGreaterThan(0.1 * 31 * 0.0254);
  });

  it('have a throttle change and a refill in the healthy ten minutes', () => {
    expect(scenarioNamed('healthy-ten-minutes').timeline.map(({ deed }) => deed.what)).toEqual(
      expect.arrayContaining(['throttle', 'tender']),
    );
  });
});
