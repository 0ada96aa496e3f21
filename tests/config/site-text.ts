/** A small site file without fault, for tests that break it in one spot. */
import { parseLayout } from '../../config/layout/layout-parser.ts';
import type { LayoutFault } from '../../config/layout/layout-fault.ts';

export const SITE = `name: Test lay
revision: 3
units: us
time-zone: UTC
altitude: 1000 ft
sources:
  tank: { kind: framed-tank, position: [0 m, 0 m], height: 0 m, length: 4 m, width: 2.5 m, depth: 1 m }
pumps:
  pump:
    kit: portable-high-pressure
    source: tank
    outlet: p0
    height: 0.5 m
    suction: { hose: suction-65, length: 10 ft, losses: 4 }
    fuel: 5 USgal
places:
  p0: { position: [1 m, 1 m], height: 1 m }
  p1: { position: [30 m, 1 m], height: 2 m }
  p2: { position: [30 m, 20 m], height: 2 m }
  a0: { position: [31 m, 1 m], height: 2 m }
  a1: { position: [60 m, 1 m], height: 3 m }
hoses:
  h1: { kit: lined-38, from: p0, to: p1, length: 100 ft }
  h2: { kit: lined-38, from: p1, to: p2, length: 30 m, losses: 0.5 }
  h3: { kit: lined-38, from: p2, to: p0, length: 30 m }
  h4: { kit: lined-25, from: a0, to: a1, length: 30 m, line: line-a }
gates:
  thief: { kit: thief-25, from: p1, to: a0, line: line-a }
lines:
  line-a: { label: A }
structures:
  house: { label: house, outline: [[40 m, 3 m], [50 m, 3 m], [50 m, 9 m]] }
heads:
  a-1:
    label: NE gable
    kit: impact-1-2
    at: a1
    feeder: { hose: feeder-16, length: 30 ft }
    rise: 10 ft
    position: [50 m, 6 m]
    line: line-a
    structure: house
    mount: gable-bracket
    zone: roof
    arc: 180 deg
    facing: 90 deg
sensors:
  end: { quantity: pressure, on: { place: a1 }, line: line-a, device: end-a, record: p, range: [0 psi, 150 psi], noise: 0.3 %, offset: 1 psi, every: 1 s }
  air: { quantity: temperature, on: air, device: box, record: t, range: [-40 F, 185 F], noise: 0.9 F, offset: 1 C, every: 10 s }
`;

export function faultsOf(text: string, fileName = 'sites/test.yaml'): readonly LayoutFault[] {
  const parsed = parseLayout(text, fileName);
  return parsed.ok ? [] : parsed.faults;
}
