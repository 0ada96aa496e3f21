/**
 * Reads the sensors of a layout file: what each measures, where it sits, who sends it, how well it is known.
 *
 * In: the section of one sensor. Out: the sensor in SI, with every fault noted on the way. Places and pumps that it
 * names are taken as they stand here; layout-checks.ts follows them.
 */
import { SHOWN_AS } from '../units.ts';
import { labelOr, nameOf, referenceOrNull } from './layout-names.ts';
import { NOT_NEGATIVE, POSITIVE, type Section } from './layout-section.ts';
import { QUANTITIES } from './layout.ts';
import type { Mounting, Quantity, Sensor } from './layout.ts';

const EXAMPLE_OF: Readonly<Record<Quantity, string>> = {
  pressure: '3 kPa',
  flow: '3 L/min',
  rotation: '20 rpm',
  level: '5 mm',
  fuel: '0.1 L',
  temperature: '0.3 C',
  pulse: '0.2 kPa',
  motion: '0.05 m/s2',
};

export function readSensor(id: string, section: Section): Sensor {
  const quantity = section.choice('quantity', QUANTITIES);
  if (quantity === null) section.skip(['range', 'noise', 'offset']);
  const spread = quantity === null ? NO_SPREAD : readSpread(section, quantity);
  return {
    id,
    label: labelOr(section, id),
    quantity: quantity ?? 'pressure',
    mounting: readMounting(section),
    line: referenceOrNull(section, 'line'),
    device: nameOf(section, 'device', 'pump-box'),
    record: nameOf(section, 'record', 'pressure'),
    ...spread,
    intervalS: section.quantity('every', 'time', '1 s', POSITIVE),
  };
}

type Spread = Pick<Sensor, 'min' | 'max' | 'noiseSd' | 'offsetSd'>;

const NO_SPREAD: Spread = { min: Number.NaN, max: Number.NaN, noiseSd: Number.NaN, offsetSd: Number.NaN };

function readSpread(section: Section, quantity: Quantity): Spread {
  const example = EXAMPLE_OF[quantity];
  const [min, max] = section.pair('range', SHOWN_AS[quantity], `[0 ${example.split(' ')[1] ?? ''}, ${example}]`);
  if (min >= max) section.fault('layout/not-rising', 'range', 'the range does not rise', 'write the lower end first');
  const sd = (name: string): number => {
    const text = section.text(name, example);
    if (text === null) return Number.NaN;
    // Data sheets give a share of the measuring range.
    if (text.endsWith('%')) return section.measure(name, text, 'ratio', '0.3 %', NOT_NEGATIVE) * (max - min);
    const dimension = quantity === 'temperature' ? 'temperature difference' : SHOWN_AS[quantity];
    return section.measure(name, text, dimension, example, NOT_NEGATIVE);
  };
  return { min, max, noiseSd: sd('noise'), offsetSd: sd('offset') };
}

const MOUNTINGS = ['place', 'suction', 'discharge', 'pump', 'source'] as const satisfies Mounting['kind'][];

function readMounting(section: Section): Mounting {
  if (section.has('on') && section.isPlain('on')) {
    section.choice('on', ['air']);
    return { kind: 'air' };
  }
  const on = section.section('on', '{ place: a3 }');
  const given = MOUNTINGS.filter((kind) => on.has(kind));
  const [kind] = given;
  const id = kind === undefined ? '' : on.reference(kind, 'a3');
  if (on.readable && given.length !== 1) {
    on.fault(
      'layout/sensor-misplaced',
      '',
      'a sensor sits in one spot',
      `write one of ${MOUNTINGS.map((word) => `{ ${word}: ... }`).join(', ')} or 'air'`,
    );
  }
  on.close();
  switch (kind) {
    case 'place':
      return { kind, place: id };
    case 'source':
      return { kind, source: id };
    case 'suction':
    case 'discharge':
    case 'pump':
      return { kind, pump: id };
    default:
      return { kind: 'air' };
  }
}
