/**
 * Reads the section `mappings:` of a site file.
 *
 * In: one mapping as a section. Out: the mapping with units resolved to SI, and every fault noted with its field.
 */
import { parsePointer, type Pointer } from './json-pointer.ts';
import { isName } from '../layout/layout-names.ts';
import { Section } from '../layout/layout-section.ts';
import { TIME_SPELLINGS, type DeviceSpot, type MappedRecord, type Mapping } from './mapping.ts';
import { suggestion } from '../spelling.ts';
import { isTopicFilter } from './topic-filter.ts';
import { unitNamed, type Dimension } from '../units.ts';

const SENML_OF: Partial<Readonly<Record<Dimension, string>>> = {
  pressure: 'Pa',
  flow: 'm3/s',
  rotation: 'Hz',
  length: 'm',
  volume: 'm3',
  temperature: 'Cel',
  ratio: '/',
};
/** What only a battery has. */
const VOLTAGES: ReadonlyMap<string, number> = new Map([
  ['V', 1],
  ['mV', 0.001],
]);
const KNOWN_UNITS = [
  'kPa',
  'psi',
  'bar',
  'Pa',
  'L/min',
  'L/s',
  'USgpm',
  'rpm',
  'Hz',
  'm',
  'mm',
  'L',
  'C',
  'F',
  '%',
  'V',
  'mV',
];
const SPARKPLUG = /^spBv1\.0\/[^/+#]+\/\+\/[^/+#]+(\/[^/+#]+)?$/;

export function readMapping(id: string, section: Section): Mapping {
  const payload = section.choice('payload', ['json', 'text', 'sparkplug']) ?? 'json';
  const foreign = payload !== 'json';
  const time = !foreign && section.has('time') ? readTime(section.section('time', '{ at: /time, as: s }')) : null;
  const each = !foreign && section.has('each') ? pointerOf(section, 'each', '/samples') : null;
  if (each !== null && time === null)
    section.fault(
      'layout/missing-field',
      'time',
      'rows without a time would all be of the moment they came in',
      "add a line such as 'time: { at: /0, as: ms }', counted from the row",
    );
  return {
    id,
    topic: readTopic(section, payload),
    payload,
    device: readDevice(section, foreign),
    each,
    time,
    records: readRecords(section, payload),
  };
}

function readTopic(section: Section, payload: Mapping['payload']): string {
  const example = payload === 'sparkplug' ? 'spBv1.0/hillside/+/pump-node' : 'orchard/+/measured';
  const topic = section.text('topic', example);
  if (topic === null) return '';
  const remedy = `write it such as '${example}': '+' stands for one level, '#' at the end for the rest`;
  if (!isTopicFilter(topic)) section.fault('layout/bad-value', 'topic', `'${topic}' is not a topic filter`, remedy);
  else if (/^(wetdown\/|[+#$])/.test(topic))
    section.fault(
      'layout/bad-value',
      'topic',
      `'${topic}' would hear more than foreign devices`,
      "begin with a level of its own, and not with 'wetdown'",
    );
  else if (payload === 'sparkplug' && !SPARKPLUG.test(topic))
    section.fault(
      'layout/bad-value',
      'topic',
      `'${topic}' names no edge node`,
      "write namespace, group, '+', node, and the device where it is behind a node",
    );
  return topic;
}

function readDevice(section: Section, foreign: boolean): DeviceSpot {
  const example = '{ level: 2 }';
  if (!section.has('device') || section.isPlain('device')) {
    const device = section.text('device', 'pump-box') ?? '';
    if (device !== '' && !isName(device))
      section.fault(
        'layout/bad-name',
        'device',
        `'${device}' cannot be a name`,
        `use small letters, digits and hyphens, or say where it stands: ${example}`,
      );
    return { kind: 'named', device };
  }
  const spot = section.section('device', example);
  const at = !foreign && spot.has('at');
  const device: DeviceSpot = at
    ? { kind: 'member', at: pointerOf(spot, 'at', '/id') }
    : { kind: 'level', level: spot.number('level', '2', { min: 1, max: 20 }) };
  spot.close();
  return device;
}

function readTime(section: Section): Mapping['time'] {
  const time = { at: pointerOf(section, 'at', '/time'), as: section.choice('as', TIME_SPELLINGS) ?? 's' };
  section.close();
  return time;
}

function readRecords(section: Section, payload: Mapping['payload']): readonly MappedRecord[] {
  const all = section.section('records', 'pressure: { at: /pressure, unit: kPa }');
  const names = all.names();
  if (all.readable && payload === 'text' && names.length !== 1) {
    section.fault(
      'layout/bad-value',
      'records',
      'a payload that is one value feeds one record',
      'write one mapping for each topic that carries a value',
    );
  }
  return names.map((record) => {
    if (!isName(record))
      all.fault(
        'layout/bad-name',
        record,
        `'${record}' cannot be a name`,
        'use small letters a-z, digits and hyphens, as in the sensor that it feeds',
      );
    const part = new Section(all.file, all.node(record), all.path(record));
    const read = readRecord(record, part, payload);
    part.close();
    return read;
  });
}

function readRecord(record: string, section: Section, payload: Mapping['payload']): MappedRecord {
  const number = (name: string, otherwise: number, example: string): number =>
    section.has(name) ? section.number(name, example) : otherwise;
  const isLoop = section.has('at-4-ma') || section.has('at-20-ma');
  const absent =
    payload === 'json' && section.has('absent') ? section.choice('absent', ['unknown', 'zero']) : 'unknown';
  return {
    record,
    at: payload === 'json' ? pointerOf(section, 'at', '/pressure') : [],
    metric: payload === 'sparkplug' ? (section.text('at', 'Pump/Discharge pressure') ?? '') : '',
    scale: number('scale', 1, '0.1'),
    offset: isLoop ? 0 : number('offset', 0, '-101.3'),
    loop: isLoop ? { at4: section.number('at-4-ma', '0'), at20: section.number('at-20-ma', '1600') } : null,
    ...readUnit(section, record),
    absent: absent ?? 'unknown',
    text: payload === 'text' || (payload === 'json' && section.flag('text', false)),
  };
}

function readUnit(section: Section, record: string): Pick<MappedRecord, 'factor' | 'zero' | 'unit'> {
  const stated = section.text('unit', 'kPa');
  const voltage = record === 'battery' && stated !== null ? VOLTAGES.get(stated) : undefined;
  if (voltage !== undefined) return { factor: voltage, zero: 0, unit: 'V' };
  const unit = stated === null ? null : unitNamed(stated);
  const senml = unit === null ? undefined : SENML_OF[unit.dimension];
  if (unit !== null && senml !== undefined) return { factor: unit.factor, zero: unit.zero, unit: senml };
  if (stated !== null)
    section.fault(
      'layout/unknown-unit',
      'unit',
      `'${stated}' is not a unit of anything measured here`,
      suggestion(stated, KNOWN_UNITS),
    );
  return { factor: Number.NaN, zero: 0, unit: '' };
}

function pointerOf(section: Section, name: string, example: string): Pointer {
  const text = section.text(name, example);
  if (text === null) return [];
  const pointer = parsePointer(text);
  if (pointer === null)
    section.fault(
      'layout/bad-value',
      name,
      `'${text}' is not a JSON Pointer`,
      `begin with '/', and write '~1' for a slash and '~0' for a tilde within a name, such as '${name}: ${example}'`,
    );
  return pointer ?? [];
}
