/**
 * What holds for a lay built from a layout: where things are, a governed pump, the pre-flight check and its remedies.
 */
import { describe, expect, it } from 'vitest';
import { HOSE_KIT_BY_ID } from '../../config/kit/kit-catalogue.ts';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { solveGoverned } from '../../gateway/core/hydraulics/governor.ts';
import { hoseVolumeM3, layVolume } from '../../gateway/core/hydraulics/lay-volume.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { preflight } from '../../gateway/core/hydraulics/preflight.ts';
import { remediesFor } from '../../gateway/core/hydraulics/remedy.ts';
import { asRigged, copySettings } from '../../gateway/core/hydraulics/settings.ts';
import type { Settings } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';

const thin = HOSE_KIT_BY_ID.get('lined-25')!;

/** A trunk, and two gated lines of three heads; the second climbs and ends in thin hose. */
function twoLines(lengthM = 30, more = 0) {
  const builder = new LayoutBuilder()
    .tank('tank')
    .place('p0', 2)
    .place('b0', 0)
    .place('b1', 10)
    .place('b2', 25)
    .pump('pump', 'tank', 'p0')
    .chain(['p0', 'p1', 'p2'], { lengthM: 30 })
    .gate('thief-a', 'p1', 'a0', { line: 'line-a' })
    .chain(['a0', 'a1', 'a2'], { lengthM: 20, line: 'line-a' })
    .head('a-1', 'a1', { line: 'line-a' })
    .head('a-2', 'a2', { line: 'line-a' })
    .gate('thief-b', 'p2', 'b0', { line: 'line-b' })
    .chain(['b0', 'b1', 'b2'], { kit: thin, lengthM, line: 'line-b' })
    .head('b-1', 'b1', { line: 'line-b' })
    .head('b-2', 'b2', { line: 'line-b', riseM: 4 });
  for (let i = 0; i < more; i++) builder.head(`b-${i + 3}`, 'b2', { line: 'line-b' });
  return builder.build();
}

describe('a network of a layout', () => {
  const layout = twoLines();
  const net = buildNetwork(layout);
  const settings = asRigged(net);
  const solution = solve(net, settings);

  it('finds every named thing', () => {
    layout.places.forEach(({ id }, i) => expect(net.nodeOfPlace.get(id)).toBe(i));
    layout.heads.forEach(({ id }, i) => expect(net.nodeOfHead.get(id)).toBe(layout.places.length + i));
    layout.hoses.forEach(({ id }, i) => expect(net.pipeOfHose.get(id)).toBe(i));
    layout.heads.forEach(({ id }, i) => expect(net.pipeOfFeeder.get(id)).toBe(layout.hoses.length + i));
    expect(net.gateIndex.get('thief-b')).toBe(1);
    expect(net.pumpIndex.get('pump')).toBe(0);
    expect(net.sourceIndex.get('tank')).toBe(0);
  });

  it('is rigged with full sources', () => {
    expect(settings.sourceLevelM[0]).toBe(1);
  });

  it('sends all the water of the pump through the heads', () => {
    const out = solution.headFlowM3s.reduce((sum, q) => sum + q, 0);
    expect(out / solution.pumpFlowM3s[0]!).toBeCloseTo(1, 6);
    expect(solution.pipeFlowM3s[net.pipeOfFeeder.get('b-2')!]).toBeCloseTo(
      solution.headFlowM3s[net.headIndex.get('b-2')!]!,
      9,
    );
  });

  it('gives a line behind a shut gate no pressure, and the other more', () => {
    const shut = copySettings(settings);
    shut.gateOpening[net.gateIndex.get('thief-b')!] = 0;
    const after = solve(net, shut, solution);
    expect(after.pressurePa[net.nodeOfHead.get('b-1')!]).toBe(0);
    expect(after.headFlowM3s[net.headIndex.get('b-2')!]).toBe(0);
    expect(after.pressurePa[net.nodeOfHead.get('a-1')!]).toBeGreaterThan(
      solution.pressurePa[net.nodeOfHead.get('a-1')!]!,
    );
  });

  it('loses more water through a missing head than it gave, and a half-shut gate costs four times its loss', () => {
    const off = copySettings(settings);
    off.headOff[0] = 1;
    expect(solve(net, off, solution).headFlowM3s[0]).toBeGreaterThan(2 * solution.headFlowM3s[0]!);
    const loss = (opening: number) => {
      const s = copySettings(settings);
      s.gateOpening[0] = opening;
      const { pressurePa, gateFlowM3s } = solve(net, s);
      return (pressurePa[net.from[net.pipeCount]!]! - pressurePa[net.to[net.pipeCount]!]!) / gateFlowM3s[0]! ** 2;
    };
    expect(loss(0.5) / loss(1)).toBeCloseTo(4, 2);
  });

  it('sees the suction fall by the lift, the hose and the strainer', () => {
    const pump = layout.pumps[0]!;
    const lift = PA_PER_M * (layout.sources[0]!.elevationM + 1 - pump.elevationM);
    expect(solution.suctionPa[0]).toBeLessThan(lift);
    const resting = copySettings(settings);
    resting.pumpSpeed[0] = 0;
    expect(solve(net, resting).suctionPa[0]).toBeCloseTo(lift, 3);
  });
});

describe('a solve that goes on from a kept one', () => {
  const net = buildNetwork(twoLines());
  const settings = asRigged(net);
  const base = solve(net, settings);

  it.each<[string, (s: Settings) => void]>([
    ['a hose of the trunk kinked', (s) => (s.hoseFactor[net.pipeOfHose.get('p0-p1')!] = 3)],
    ['a feeder kinked', (s) => (s.hoseFactor[net.pipeOfFeeder.get('a-2')!] = 3)],
    ['a nozzle half plugged', (s) => (s.headFactor[net.headIndex.get('b-2')!] = 0.5)],
    ['a head gone', (s) => (s.headOff[net.headIndex.get('b-1')!] = 1)],
    ['a gate half shut', (s) => (s.gateOpening[0] = 0.5)],
    ['a leak opened', (s) => (s.leakK[net.nodeOfPlace.get('a1')!] = 5e-7)],
  ])('gives what a cold start gives: %s', (_, change) => {
    // The first keeps the linear system of the base, the second begins there.
    solve(net, settings, base);
    const changed = copySettings(settings);
    change(changed);
    const [warm, cold] = [solve(net, changed, base), solve(net, changed)];
    for (let node = 0; node < net.nodeCount; node++)
      expect(Math.abs(warm.pressurePa[node]! - cold.pressurePa[node]!), net.nodeName[node]).toBeLessThan(5);
    expect(Math.max(...warm.pressurePa.map((p, node) => Math.abs(p - base.pressurePa[node]!)))).toBeGreaterThan(500);
  });
});

describe('a governed pump', () => {
  const net = buildNetwork(twoLines());
  const settings = asRigged(net);
  const free = solve(net, settings);
  const outlet = net.nodeOfPlace.get('p0')!;

  it('holds its pressure, and the curve at the speed found gives the same state', () => {
    const holdPa = 0.8 * free.pressurePa[outlet]!;
    const held = solveGoverned(net, settings, Float64Array.of(holdPa), 1.1);
    expect(held.solution.pressurePa[outlet]! / holdPa).toBeCloseTo(1, 5);
    expect(held.speed[0]).toBeLessThan(1);
    const throttled = copySettings(settings);
    throttled.pumpSpeed[0] = held.speed[0]!;
    const again = solve(net, throttled);
    expect(again.pressurePa[outlet]! / holdPa).toBeCloseTo(1, 4);
    expect(again.pumpFlowM3s[0]! / held.solution.pumpFlowM3s[0]!).toBeCloseTo(1, 4);
  });

  it('runs at its limit when it cannot hold', () => {
    const held = solveGoverned(net, settings, Float64Array.of(1.5 * free.pressurePa[outlet]!), 1);
    expect(held.speed[0]).toBe(1);
    expect(held.solution.pressurePa[outlet]! / free.pressurePa[outlet]!).toBeCloseTo(1, 4);
  });
});

describe('the pre-flight check', () => {
  it('adds up: water, time, fuel', () => {
    const layout = twoLines();
    const check = preflight(layout, 15);
    expect(check.fault).toBeNull();
    const [pump] = check.pumps;
    const [source] = check.sources;
    expect(source!.usableM3).toBeCloseTo(9, 9);
    expect(source!.lastsS).toBeCloseTo(9 / pump!.flowM3s, 6);
    expect(pump!.fuelLastsS).toBeCloseTo(0.02 / layout.pumps[0]!.kit.fuelUseM3s, 6);
    expect(pump!.suction).toBe('ample');
    const hoses = layout.hoses.reduce((sum, hose) => sum + hoseVolumeM3(hose.kit.boreM, hose.lengthM), 0);
    expect(layVolume(layout).wholeM3).toBeGreaterThan(hoses);
    expect(check.layFillS).toBeCloseTo(check.layVolumeM3 / pump!.flowM3s, 6);
    expect(check.lines.map((line) => line.line)).toEqual(layout.lines.map((line) => line.id));
    for (const line of check.lines) {
      expect(line.shockPeakPa).toBeGreaterThan(pump!.dischargePa * 0.5);
      expect(line.safeFillShare).toBeGreaterThanOrEqual(0);
      expect(line.safeFillShare).toBeLessThanOrEqual(1);
    }
  });

  it('names the weak head, and every remedy it offers was tried', () => {
    const layout = twoLines(100, 8);
    const weak = preflight(layout, 15).heads.filter((head) => head.standing === 'too-weak');
    expect(weak.map((head) => head.head)).toContain('b-2');
    const net = buildNetwork(layout);
    const remedies = remediesFor(net, asRigged(net), 'b-2');
    expect(remedies.map((remedy) => remedy.change)).toContain('larger-hose');
    const { turnPaMin, turnPaMax } = layout.heads.find((head) => head.id === 'b-2')!.kit;
    for (const remedy of remedies) {
      expect(remedy.pressurePa).toBeGreaterThanOrEqual(turnPaMin);
      expect(remedy.pressurePa).toBeLessThanOrEqual(turnPaMax);
    }
  });

  it('offers a head fewer with the pressure that the lay has once that head is not there', () => {
    const layout = twoLines(100, 7);
    const net = buildNetwork(layout);
    const [remedy] = remediesFor(net, asRigged(net), 'b-2').filter(({ change }) => change === 'one-head-fewer');
    const without = buildNetwork({ ...layout, heads: layout.heads.filter(({ id }) => id !== remedy!.subject) });
    const pressurePa = solve(without, asRigged(without)).pressurePa[without.nodeOfHead.get('b-2')!]!;
    expect(remedy!.pressurePa / pressurePa).toBeCloseTo(1, 6);
  });

  it('gives each line the water of its own heads, and all lines that of the pump', () => {
    const check = preflight(twoLines(), 15);
    const ofHeads = (line: string): number =>
      check.heads.filter(({ head }) => head.startsWith(line)).reduce((sum, { flowM3s }) => sum + flowM3s, 0);
    expect(check.lines[0]!.flowM3s).toBeCloseTo(ofHeads('a-'), 12);
    expect(check.lines[1]!.flowM3s).toBeCloseTo(ofHeads('b-'), 12);
    expect((check.lines[0]!.flowM3s + check.lines[1]!.flowM3s) / check.pumps[0]!.flowM3s).toBeCloseTo(1, 6);
  });

  it('throttles back where a head gets too much, and finds nothing to do where it turns', () => {
    const layout = twoLines();
    const net = buildNetwork(layout);
    expect(preflight(layout, 15).heads[0]!.standing).toBe('too-strong');
    const [first] = remediesFor(net, asRigged(net), 'a-1');
    expect(first!.change).toBe('throttle');
    expect(first!.speed).toBeLessThan(1);
    const slow = asRigged(net);
    slow.pumpSpeed[0] = first!.speed!;
    expect(remediesFor(net, slow, 'a-1')).toEqual([]);
  });

  it('says what shutting one gate does to the others', () => {
    const check = preflight(twoLines(), 15);
    const [a, b] = check.gates;
    expect(a!.worstHead).toMatch(/^b-/);
    expect(b!.worstHead).toMatch(/^a-/);
    expect(b!.pressurePa).toBeGreaterThan(check.heads[0]!.pressurePa);
  });
});
