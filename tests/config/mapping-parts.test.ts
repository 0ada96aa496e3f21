/** What is said about a faulty `mappings:` section: line, field, remedy; and what a good one becomes. */
import { describe, expect, it } from 'vitest';
import { formatFault } from '../../config/layout/layout-fault.ts';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import { deviceName, speakersOn, subscriptionOf } from '../../config/mapping/mapping.ts';
import { faultsOf, SITE } from './site-text.ts';

const GOOD = `mappings:
  node:
    topic: orchard/+/measured
    payload: json
    device: { level: 2 }
    time: { at: /at, as: s }
    records:
      p: { at: /p, unit: psi, scale: 0.1, offset: -14.7 }
      battery: { at: /bat, unit: mV }
  rtu:
    topic: spBv1.0/hillside/+/pump-node/skid
    payload: sparkplug
    device: end-a
    records:
      p: { at: Pump/Discharge pressure, unit: kPa, at-4-ma: 0, at-20-ma: 1600 }
`;
const LINES = SITE.split('\n').length - 1;

describe('a mapping', () => {
  it('becomes SI, and leaves the rest of the site as it is', () => {
    const parsed = parseLayout(SITE + GOOD, 'test-lay.yaml');
    if (!parsed.ok) throw new Error(parsed.faults.map(formatFault).join('\n'));
    const [node, rtu] = parsed.layout.mappings;
    expect(node).toMatchObject({
      id: 'node',
      device: { kind: 'level', level: 2 },
      time: { at: ['at'], as: 's' },
      each: null,
    });
    expect(node?.records[0]).toMatchObject({
      record: 'p',
      at: ['p'],
      scale: 0.1,
      offset: -14.7,
      unit: 'Pa',
      loop: null,
      absent: 'unknown',
      text: false,
    });
    expect(node?.records[0]?.factor).toBeCloseTo(6894.757, 3);
    expect(node?.records[1]).toMatchObject({ unit: 'V', factor: 0.001 });
    expect(rtu?.records[0]).toMatchObject({
      metric: 'Pump/Discharge pressure',
      loop: { at4: 0, at20: 1600 },
      factor: 1000,
    });
    expect(subscriptionOf(rtu!)).toBe('spBv1.0/hillside/+/pump-node/#');
    const none = parseLayout(SITE, 'test-lay.yaml');
    expect(none.ok && none.layout.mappings).toEqual([]);
  });

  it.each([
    [
      'topic: orchard/+/measured',
      'topic: orchard/+x/measured',
      'node.topic',
      'layout/bad-value',
      /'\+' stands for one level/,
    ],
    ['topic: orchard/+/measured', 'topic: wetdown/+/measured', 'node.topic', 'layout/bad-value', /not with 'wetdown'/],
    ['topic: orchard/+/measured', "topic: '#'", 'node.topic', 'layout/bad-value', /begin with a level of its own/],
    [
      'topic: spBv1.0/hillside/+/pump-node/skid',
      'topic: spBv1.0/hillside/DDATA/pump-node',
      'rtu.topic',
      'layout/bad-value',
      /'\+', node/,
    ],
    ['device: { level: 2 }', 'device: { level: 0 }', 'node.device.level', 'layout/out-of-range', /at least 1/],
    ['device: { level: 2 }', 'device: End A', 'node.device', 'layout/bad-name', /small letters/],
    ['device: end-a', 'device: { at: /id }', 'rtu.device.level', 'layout/missing-field', /level/],
    ['as: s', 'as: minutes', 'node.time.as', 'layout/bad-value', /known: s, ms, iso/],
    ['at: /at, as', 'at: at, as', 'node.time.at', 'layout/bad-value', /begin with '\/'/],
    ['unit: psi', 'unit: PSI', 'node.records.p.unit', 'layout/unknown-unit', /did you mean 'psi'\?/],
    ['unit: psi', 'unit: min', 'node.records.p.unit', 'layout/unknown-unit', /known: /],
    ['unit: psi, ', '', 'node.records.p.unit', 'layout/missing-field', /unit: kPa/],
    ['unit: mV', 'unit: mAh', 'node.records.battery.unit', 'layout/unknown-unit', /known/],
    ['scale: 0.1', 'scale: 1/10', 'node.records.p.scale', 'layout/bad-value', /number without a unit/],
    ['scale: 0.1', 'scael: 0.1', 'node.records.p.scael', 'layout/unknown-field', /did you mean 'scale'\?/],
    ['at-20-ma: 1600', 'absent: zero', 'rtu.records.p.at-20-ma', 'layout/missing-field', /at-20-ma/],
    ['unit: kPa, at-4', 'unit: rpm, at-4', 'rtu.records.p.unit', 'layout/wrong-dimension', /unit of pressure/],
    ['time: { at: /at, as: s }', 'each: /rows', 'node.time', 'layout/missing-field', /counted from the row/],
    ['payload: json', 'payload: text', 'node.records', 'layout/bad-value', /one mapping for each topic/],
    ['payload: json', 'payload: xml', 'node.payload', 'layout/bad-value', /known: json, text, sparkplug/],
  ])('%s -> %s is a fault at %s', (from, to, field, code, remedy) => {
    expect(GOOD.split(from)).toHaveLength(2);
    const faults = faultsOf(SITE + GOOD.replace(from, to));
    const fault = faults.find((one) => one.field === `mappings.${field}`);
    expect(faults.map((one) => `${one.code} ${one.field}`)).toContain(`${code} mappings.${field}`);
    expect(fault?.remedy).toMatch(remedy);
    const row = GOOD.split('\n').findIndex((line) => line.includes(from.split('\n')[0]!));
    expect(fault?.line === LINES + row + 1 || code === 'layout/missing-field' || field === 'node.records').toBe(true);
  });

  it('spells foreign names as the layout does, and says who may speak', () => {
    expect([deviceName('A84041_FF 12'), deviceName('--'), deviceName('END-B')]).toEqual(['a84041-ff-12', '', 'end-b']);
    const parsed = parseLayout(SITE + GOOD, 'test-lay.yaml');
    const mappings = parsed.ok ? parsed.layout.mappings : [];
    expect(speakersOn(mappings, 'orchard/END-A/measured')).toEqual(['node', 'end-a']);
    expect(speakersOn(mappings, 'spBv1.0/hillside/NDEATH/pump-node')).toEqual(['rtu', 'end-a']);
    expect(speakersOn(mappings, 'orchard/end-a/other')).toEqual([]);
  });
});
