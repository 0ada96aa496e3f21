/**
 * The core against the plant where a gauge is missing or falls silent: a dead-head and lost prime are named for what
 * they are, within a minute of the first reading that can show them, and never as a hose that takes more than the pump
 * can give. The seeds here were not used to set any threshold.
 */
import { describe, expect, it } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { withGauges } from '../score/gauge-set.ts';
import { Drive, Filing, siteLayout } from '../support/drive.ts';

const SITES = ['larch-cove', 'quarry-road'];
const PUMP = ['discharge', 'suction', 'flow', 'speed'];

function running(layout: Layout, seed: number, seconds = 70): Drive {
  const drive = new Drive(layout, { seed });
  drive.run(seconds);
  return drive;
}

const isNamed = (drive: Drive, name: string) => (): boolean => drive.standing.includes(name);
const causesOf = (drive: Drive): string[] => [...drive.raised.values()].map(({ verdict }) => verdict.cause);

describe.each(SITES)('all gates shut at %s', (site) => {
  it.each(['without=flow', 'without=speed', 'without=flow,speed', 'box=30'])('%s: a dead-head', (gauges) => {
    const drive = running(withGauges(siteLayout(site), gauges), 9_201, gauges === 'box=30' ? 130 : 70);
    drive.carry({ do: 'start', what: 'dead-head', at: 'pump' });
    const boxS = gauges === 'box=30' ? 30 : 0;
    expect(drive.until(60 + boxS, isNamed(drive, 'dead-head pump')), drive.standing.join()).not.toBeNull();
    expect(causesOf(drive)).not.toContain('hose-burst');
    expect(drive.picture.pumps[0]!.state).toBe('dead-head');
    drive.carry({ do: 'repair', what: 'dead-head', at: 'pump' });
    expect(drive.until(60 + 2 * boxS, () => !drive.standing.includes('dead-head pump'))).not.toBeNull();
  });
});

describe('a gauge that falls silent', () => {
  it.each(['flow', 'speed'])('%s, in the middle of the run: a dead-head all the same', (gauge) => {
    const drive = running(siteLayout('larch-cove'), 9_202);
    drive.carry({ do: 'start', what: 'sensor-silent', at: gauge });
    drive.run(30);
    drive.carry({ do: 'start', what: 'dead-head', at: 'pump' });
    expect(drive.until(60, isNamed(drive, 'dead-head pump'))).not.toBeNull();
    expect(causesOf(drive)).not.toContain('hose-burst');
    // Both of them come back.
    drive.carry({ do: 'repair', what: 'sensor-silent', at: gauge });
    drive.run(20);
    expect(drive.standing).toContain('dead-head pump');
    expect([...drive.raised.values()].filter(({ verdict }) => verdict.cause === 'dead-head')).toHaveLength(1);
  });

  it('clears nothing: acknowledged, with every gauge of the pump gone, it stands until a gate is seen open', () => {
    const drive = running(withGauges(siteLayout('larch-cove'), 'without=flow'), 9_203);
    drive.carry({ do: 'start', what: 'dead-head', at: 'pump' });
    drive.until(60, isNamed(drive, 'dead-head pump'));
    const { id } = drive.picture.alarms.find(({ verdict }) => verdict.cause === 'dead-head')!.verdict;
    expect(drive.watch.enter({ kind: 'acknowledge', alarm: id, by: 'AB' }, drive.simulation.nowMs + 950)).toBeNull();
    for (const gauge of PUMP.filter((name) => name !== 'flow'))
      drive.carry({ do: 'start', what: 'sensor-silent', at: gauge });
    for (let second = 0; second < 90; second += 1) {
      drive.second();
      expect(drive.standing).toContain('dead-head pump');
    }
    expect(drive.picture.alarms.find(({ verdict }) => verdict.id === id)?.state).toBe('acknowledged');
    drive.carry({ do: 'repair', what: 'sensor-silent', at: 'speed' });
    drive.run(20);
    expect(drive.standing, 'a speed alone says nothing of a gate').toContain('dead-head pump');
    drive.carry({ do: 'repair', what: 'dead-head', at: 'pump' });
    expect(
      drive.until(60, () => !drive.standing.includes('dead-head pump')),
      'line ends come up, the discharge gauge still silent',
    ).not.toBeNull();
  });
});

it('a gateway that starts in the middle of it, without flow or line ends, says so within a minute', () => {
  const layout = withGauges(siteLayout('larch-cove'), 'without=flow');
  const drive = running(layout, 9_204, 30);
  drive.carry({ do: 'start', what: 'dead-head', at: 'pump' });
  drive.run(30);
  const late = createWatch(layout, { simulated: true });
  const filing = new Filing();
  let toldS: number | null = null;
  for (let second = 1; second <= 60 && toldS === null; second += 1) {
    const { nowMs } = drive.simulation;
    for (const reading of filing.readings(drive.simulation.second(), nowMs + 1_100)) late.take(reading);
    const picture = late.advance(nowMs + 1_900);
    if (picture?.alarms.some(({ verdict }) => verdict.cause === 'dead-head')) toldS = second;
  }
  expect(toldS).not.toBeNull();
});

describe('lost prime without a flow meter', () => {
  it.each(SITES)('at %s is trouble of the suction, and no head that loses nothing', (site) => {
    const drive = running(withGauges(siteLayout(site), 'without=flow'), 9_205);
    drive.carry({ do: 'start', what: 'suction-trouble', at: 'pump' });
    expect(drive.until(60, isNamed(drive, 'suction-trouble pump')), drive.standing.join()).not.toBeNull();
    drive.run(30);
    expect(drive.standing).toEqual(['suction-trouble pump']);
    expect(causesOf(drive)).not.toContain('head-off');
    for (const { verdict } of drive.raised.values()) expect(verdict.headline).not.toMatch(/\b0(\.0+)? (US gpm|L\/min)/);
    // Its pressure gauge goes: nothing is cleared by that.
    drive.carry({ do: 'start', what: 'sensor-silent', at: 'discharge' });
    drive.run(40);
    expect(drive.standing).toContain('suction-trouble pump');
  });
});

describe('normal life without a flow meter', () => {
  it('is no dead-head: lines shut by order until one small one runs alone, throttle up and down', () => {
    const layout = withGauges(siteLayout('larch-cove'), 'without=flow');
    const drive = running(layout, 9_206);
    for (const { id, line } of layout.gates.filter((gate) => gate.line !== null).slice(0, -1)) {
      expect(line).not.toBeNull();
      const entry = { kind: 'gate', by: 'AB', gate: id, opening: 0 } as const;
      expect(drive.watch.enter(entry, drive.simulation.nowMs + 950)).toBeNull();
      drive.carry({ do: 'start', what: 'gate', at: id, size: 0 });
      drive.run(20);
    }
    for (const size of [0.85, 1]) {
      drive.carry({ do: 'start', what: 'throttle', at: 'pump', size });
      drive.run(30);
    }
    expect(causesOf(drive)).not.toContain('dead-head');
  });
});
