/**
 * Turns a SenML value with its unit into the SI value of a sensor's quantity, or says why it cannot.
 *
 * Units: RFC 8428 section 12.1 and the secondary units of RFC 8798; kPa, bar and l/min are in neither registry but are
 * what pressure and flow transmitters send. A ratio of the full tank is taken for fuel and for a framed or round tank's
 * level. In SenML '%' is a ratio from 0 to 1 and not a percentage (RFC 8428, note 1 of the unit table): anything above
 * 1 is refused.
 */
import type { Layout, Quantity, Sensor } from '../../../config/layout/layout.ts';
import { refusal, type Refusal } from '../refusal.ts';

interface Scale {
  readonly factor: number;
  readonly zero?: number;
}

const KELVIN_AT_0_CEL = 273.15;
const BAR_PA = 1e5;

const PRESSURES: ReadonlyMap<string, Scale> = new Map([
  ['Pa', { factor: 1 }],
  ['hPa', { factor: 100 }],
  ['kPa', { factor: 1_000 }],
  ['bar', { factor: BAR_PA }],
]);

const SCALES: Readonly<Record<Quantity, ReadonlyMap<string, Scale>>> = {
  pressure: PRESSURES,
  pulse: PRESSURES,
  motion: new Map([['m/s2', { factor: 1 }]]),
  flow: new Map([
    ['m3/s', { factor: 1 }],
    ['l/s', { factor: 1e-3 }],
    ['l/min', { factor: 1e-3 / 60 }],
    ['m3/h', { factor: 1 / 3_600 }],
  ]),
  rotation: new Map([
    ['Hz', { factor: 1 }],
    ['1/s', { factor: 1 }],
    ['1/min', { factor: 1 / 60 }],
  ]),
  level: new Map([
    ['m', { factor: 1 }],
    ['cm', { factor: 0.01 }],
    ['mm', { factor: 0.001 }],
  ]),
  fuel: new Map([
    ['m3', { factor: 1 }],
    ['l', { factor: 1e-3 }],
  ]),
  temperature: new Map([
    ['Cel', { factor: 1 }],
    ['K', { factor: 1, zero: -KELVIN_AT_0_CEL }],
  ]),
};

const EVERY_UNIT = new Set(Object.values(SCALES).flatMap((scales) => [...scales.keys()]));
const RATIOS: ReadonlyMap<string, number> = new Map([
  ['/', 1],
  ['%', 1],
  ['/100', 0.01],
]);

/** SI value of what a ratio is a share of, or null. */
export function fullScale(layout: Layout, sensor: Sensor): number | null {
  const { mounting } = sensor;
  if (sensor.quantity === 'fuel' && mounting.kind === 'pump')
    return layout.pumps.find((pump) => pump.id === mounting.pump)?.fuelCapacityM3 ?? null;
  if (sensor.quantity !== 'level' || mounting.kind !== 'source') return null;
  const shape = layout.sources.find((source) => source.id === mounting.source)?.shape;
  if (!shape || shape.kind === 'open-water') return null;
  return shape.kind === 'dipped-tank' ? (shape.depthsM.at(-1) ?? null) : shape.depthM;
}

export function toSi(
  value: number,
  unit: string | null,
  quantity: Quantity,
  fullScaleSi: number | null,
): number | Refusal {
  if (unit === null) return refusal('ingest/no-unit', `${value} without a unit for a ${quantity}`);
  const scale = SCALES[quantity].get(unit);
  if (scale) return value * scale.factor + (scale.zero ?? 0);
  const ratio = RATIOS.get(unit);
  if (ratio !== undefined && fullScaleSi !== null) {
    const share = value * ratio;
    return share >= 0 && share <= 1 ? share * fullScaleSi : refusal('ingest/not-a-ratio', `${value} ${unit}`);
  }
  const known = EVERY_UNIT.has(unit) || RATIOS.has(unit);
  return refusal(
    known ? 'ingest/wrong-unit' : 'ingest/unknown-unit',
    `'${unit}' for a ${quantity}; known: ${[...SCALES[quantity].keys()].join(', ')}`,
  );
}
